"""Weather that evidence rests on: this season's days in full, the years before by fingerprint.

Both are cut on the first of January before the season's first day, so that all fields of a
cell share one past whenever they were planted, and it is the same on every night.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_rules.season.values import OPTIONAL_SERIES, REQUIRED_SERIES, DailyWeather
from rootbound_service.errors import ServiceError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_rules.season.values import Series


def cut_of(weather: DailyWeather, first: date) -> date:
    """First day that evidence spells out; earlier days are the kept past.

    Parameters
    ----------
    weather
        A cell's days.
    first
        First simulated day of the season.
    """
    return max(date(first.year, 1, 1), weather.start)


def days_from(weather: DailyWeather, cut: date) -> dict[str, list[float | None]]:
    """Days of each series from ``cut`` on as JSON has them, a gap as None."""
    begin = (cut - weather.start).days
    return {name: _with_gaps(series[begin:]) for name, series in _series(weather).items()}


def _with_gaps(series: Series) -> list[float | None]:
    """A series as JSON has it."""
    found: list[float | None] = series.astype(np.float64).tolist()
    for place in np.flatnonzero(np.isnan(series)).tolist():
        found[place] = None
    return found


@lru_cache(maxsize=64)  # the fields of a cell come one after the other
def past_fingerprint(weather: DailyWeather, cut: date) -> str:
    """Fingerprint of every day before ``cut``, the same while none of them changes.

    Parameters
    ----------
    weather
        A cell's days, as :mod:`rootbound_service.weather.series` rounds them.
    cut
        The day after the last one counted.
    """
    digest = sha256(weather.start.isoformat().encode())
    for name, series in past_of(weather, cut).items():
        digest.update(name.encode() + np.ascontiguousarray(series, "<f8").tobytes())
    return digest.hexdigest()[:32]


def joined(past: DailyWeather | None, cut: date, days: Mapping[str, list[Any]]) -> DailyWeather:
    """Put the kept past before the days that evidence spells out.

    Parameters
    ----------
    past
        From :func:`unpack_past`; None where there is none.
    cut
        First day of ``days``.
    days
        From :func:`days_from`.

    Raises
    ------
    ServiceError
        If the past does not end on the day before, or has other series.
    """
    own = {
        name: np.array([np.nan if x is None else x for x in column], np.float64)
        for name, column in days.items()
    }
    if past is None:
        return weather_of(cut, own)
    before = _series(past)
    if past.start + timedelta(days=len(past)) != cut or set(before) != set(own):
        raise ServiceError("the kept past does not fit the season's days")
    together = {name: np.concatenate([before[name], own[name]]) for name in own}
    return weather_of(past.start, together)


def _series(weather: DailyWeather) -> dict[str, Series]:
    """The series that the weather has, in the rules' order."""
    named = {name: getattr(weather, name) for name in REQUIRED_SERIES + OPTIONAL_SERIES}
    return {name: series for name, series in named.items() if series is not None}


def past_of(weather: DailyWeather, cut: date) -> dict[str, Series]:
    """Days before ``cut``, every gap and every zero written the same way."""
    end = (cut - weather.start).days
    return {
        name: np.where(np.isnan(series[:end]), np.nan, series[:end] + 0.0)
        for name, series in _series(weather).items()
    }


def weather_of(start: date, series: Mapping[str, Series]) -> DailyWeather:
    """Make weather of its series, the first day given."""
    columns: dict[str, Any] = dict(series)
    return DailyWeather(start, **columns)
