"""Makes the weather sources that the written order names, from the settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.weather.answers import AnswerShelf
from rootbound_service.weather.drawer import drawer_in
from rootbound_service.weather.feed import Feed
from rootbound_service.weather.forecast.shelf import ISSUES, ForecastShelf
from rootbound_service.weather.grid_object_seat import seat_in
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.where import weather_place

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from rootbound_service.public.http import Caller
    from rootbound_service.public.order import Order
    from rootbound_service.settings import Settings
    from rootbound_service.weather.day import DailySource
    from rootbound_service.weather.forecast.day import ForecastSource

DAYS = ("gridmet", "nasa_power", "nclimgrid")
FORECAST = ("nws", "open_meteo", "open_meteo_ensemble")


def build_feeds(settings: Settings, order: Order, caller: Caller) -> dict[str, Feed]:
    """Make every source of past days that the order names, with its store.

    Parameters
    ----------
    settings
        Where the services are and where things are kept.
    order
        Which sources are wanted.
    caller
        Carries the requests.

    Raises
    ------
    RefusedInput
        If the order names a source that there is not.
    """
    makers: dict[str, Callable[[], DailySource]] = {
        "nasa_power": lambda: _nasa_power(settings, caller),
        "gridmet": lambda: _gridmet(settings, caller),
        "nclimgrid": lambda: _nclimgrid(settings, caller),
    }
    for path in order.presets:
        source = _grid(path, settings, caller)
        makers[source.name] = lambda source=source: source  # type: ignore[misc]  # a bound default
    _refuse_unknown(order.named("days"), tuple(makers))
    place = weather_place(settings)
    return {
        name: Feed(
            makers[name](),
            GridStore(seat_in(place, name), name),
            AnswerShelf(settings.data_dir / "answers" / name),
        )
        for name in order.named("days")
    }


def build_shelf(settings: Settings) -> ForecastShelf:
    """Make the shelf that keeps forecasts beside the stored weather.

    Parameters
    ----------
    settings
        Where things are kept.

    Raises
    ------
    RefusedInput
        As for :func:`~rootbound_service.weather.where.weather_place`.
    """
    return ForecastShelf(drawer_in(weather_place(settings), f"forecasts/{ISSUES}"))


def build_forecasts(settings: Settings, order: Order, caller: Caller) -> dict[str, ForecastSource]:
    """Make every forecast source that the order names and the settings allow.

    Parameters
    ----------
    settings, order, caller
        As for :func:`build_feeds`.
    """
    from rootbound_service.weather.forecast.nws import Nws
    from rootbound_service.weather.forecast.open_meteo import OpenMeteo

    found: dict[str, ForecastSource] = {}
    for name in order.named("forecast"):
        if name == "nws":
            found[name] = Nws(caller, settings.nws_url, settings.data_dir / "forecasts" / "nws")
        elif settings.open_meteo:
            key = settings.open_meteo_key.get_secret_value() if settings.open_meteo_key else None
            ensemble = name == "open_meteo_ensemble"
            url = settings.open_meteo_ensemble_url if ensemble else settings.open_meteo_url
            found[name] = OpenMeteo(caller, url, ensemble=ensemble, key=key)
    return found


def _nasa_power(settings: Settings, caller: Caller) -> DailySource:
    from rootbound_service.weather.sources.nasa_power import NasaPower

    return NasaPower(caller, settings.nasa_power_url, settings.nasa_power_user)


def _gridmet(settings: Settings, caller: Caller) -> DailySource:
    from rootbound_service.weather.sources.gridmet import GridMet

    return GridMet(caller, settings.gridmet_url)


def _nclimgrid(settings: Settings, caller: Caller) -> DailySource:
    from rootbound_service.weather.sources.nclimgrid import NClimGrid

    return NClimGrid(caller, settings.nclimgrid_url, settings.data_dir / "files" / "nclimgrid")


def _grid(path: Path, settings: Settings, caller: Caller) -> DailySource:
    from rootbound_service.weather.sources.cf import open_preset

    return open_preset(path, caller, settings.data_dir / "files")


def _refuse_unknown(wanted: tuple[str, ...], known: tuple[str, ...]) -> None:
    """Refuse an order that names a source of past days which there is not."""
    problems = tuple(
        Problem("[[order]] sources", f"there is no {name!r} for days", f"one of {', '.join(known)}")
        for name in wanted
        if name not in known
    )
    if problems:
        raise RefusedInput(problems)
