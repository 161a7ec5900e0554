"""Where the weather of the enrolled fields stands, for commands and pages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.nights.expected import bring_forecasts, expected_rain
from rootbound_service.nights.history import (
    fetch_past,
    growing_fields,
    growing_places,
    places_for,
    season_begin,
)
from rootbound_service.nights.told import troubles_by_place, weather_told
from rootbound_service.settings import NIGHT_HOUR_UTC
from rootbound_service.store.fields import find_field
from rootbound_service.store.runs import last_run
from rootbound_service.weather.bring import bring_night
from rootbound_service.weather.grid_mend import mend_stores
from rootbound_service.weather.places import Place, cells_by_source, own_cells, place_of
from rootbound_service.weather.series import PlaceDays, series_of
from rootbound_service.weather.status import SourceStatus, status_of

if TYPE_CHECKING:
    from rootbound_service.weather.normals import Normals
    from rootbound_service.wiring import Parts


@dataclass(frozen=True, slots=True)
class State:
    """Every source that the fields need, and what lies around them."""

    sources: tuple[SourceStatus, ...]
    forecasts: tuple[str, ...]
    last_night: str | None
    next_pull: str


@dataclass(frozen=True, slots=True)
class Brought:
    """What asking every source came to."""

    lines: tuple[str, ...]
    failures: tuple[str, ...]
    came: bool


def look(parts: Parts, now: datetime) -> State:
    """Look at the stores; nothing is asked for.

    Parameters
    ----------
    parts
        The wired service.
    now
        The moment, aware UTC.
    """
    today = now.date()
    places, years = growing_places(parts, today), parts.settings.history_years
    own = own_cells(places)
    sources = tuple(
        status_of(parts.feeds[name], cells, today, years, own.get(name, []))
        for name, cells in cells_by_source(places).items()
    )
    with parts.engine.execution_options(ro=True).connect() as conn:
        run = last_run(conn, finished_only=True)
    night = f"{run.night}, {run.weather}" if run else None
    return State(sources, _forecasts(parts, places, now), night, _next_pull(now))


def bring(
    parts: Parts, today: date, *, past: bool, progress: Callable[[int, int], None] | None
) -> Brought:
    """Ask every source for what the fields need.

    Parameters
    ----------
    parts
        The wired service.
    today
        The day.
    past
        Whether to fetch missing past years as well.
    progress
        Told how many requests are done, and of how many.
    """
    mended = mend_stores(parts.feeds, parts.clock.now())
    fields = growing_fields(parts, today)
    places = places_for(parts, fields)
    if not places:
        return Brought(("No field grows now: nothing was asked for.",), (), came=True)
    begin = season_begin(fields)
    pulled = bring_night(parts.feeds, places, today, begin, parts.normals, progress)
    lines = [f"{one.title}: {one.requests} requests, {one.new} new values" for one in pulled]
    if past:
        left, more = fetch_past(parts, today, progress=progress)
        lines += [f"{one.title}, past years: {one.requests} requests" for one in more]
        lines += [f"Past years of {left} cells are still to come."] if left else []
        pulled += more
    told = (*mended, *weather_told(pulled, (), today), *bring_forecasts(parts, places))
    troubles = tuple(sorted(troubles_by_place(places, pulled).values()))
    came = len(troubles) < len(places)
    return Brought((*lines, *told), troubles, came)


def days_of(parts: Parts, name: str, today: date) -> tuple[PlaceDays, Normals | None]:
    """Find the days of a cell by its key or by a field's name or number.

    Parameters
    ----------
    parts
        The wired service.
    name
        What the user wrote.
    today
        The day.

    Returns
    -------
    tuple
        The days, and what is usual there if enough past years are known.

    Raises
    ------
    RefusedInput
        If there is no such cell or field.
    ServiceError
        If nothing is stored of it yet.
    """
    place = _place_named(parts, name)
    start = date(today.year - 1, 1, 1)
    end = today - timedelta(days=1)
    rain = expected_rain(parts, [place], today)
    found = list(series_of(parts.feeds, [place], start, end, parts.normals, rain, _raise))
    if not found:
        raise ServiceError(
            f"{place.key}: no weather is stored yet; rootbound weather pull asks for it"
        )
    return found[0], parts.normals.of(parts.feeds[place.cell.source], [place.cell], today.year)


def _raise(place: Place, error: Exception) -> None:
    """Pass on why a place cannot be read."""
    raise ServiceError(f"{place.key}: the stored weather cannot be used ({error})") from error


def _place_named(parts: Parts, name: str) -> Place:
    """A place by the key of its cell, or by one of its fields."""
    source = name.partition(":")[0]
    if source in parts.feeds:
        cell = parts.feeds[source].source.grid.from_key(name)
        lat, lon = cell.centre
        found = place_of(lat, lon, parts.order, parts.feeds)
        others = found.others if found is not None and found.cell == cell else ()
        return Place(cell, others)
    with parts.engine.execution_options(ro=True).connect() as conn:
        field = find_field(conn, name)
    found = place_of(field.lat, field.lon, parts.order, parts.feeds)
    if found is None:
        wanted = "name a source that covers it in the order of the sources"
        raise RefusedInput((Problem(field.name, "no source covers its place", wanted),))
    return found


def _forecasts(parts: Parts, places: list[Place], now: datetime) -> tuple[str, ...]:
    """How old the forecasts are."""
    latest = [one for place in places if (one := parts.forecasts.latest(place.key)) is not None]
    if not latest:
        return ("Forecasts: none is stored.",)
    oldest = min(one.issued for one in latest)
    hours = (now - oldest).total_seconds() / 3600
    return (f"Forecasts: {len(latest)} of {len(places)} places, the oldest {hours:.0f} h old.",)


def _next_pull(now: datetime) -> str:
    """When the worker asks next."""
    today = datetime.combine(now.astimezone(UTC).date(), time(NIGHT_HOUR_UTC), UTC)
    due = today if now < today else today + timedelta(days=1)
    return f"{due:%Y-%m-%d %H:%M} UTC, if the worker runs (rootbound worker)"
