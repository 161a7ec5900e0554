"""The coming days of a place, from the forecasts kept of it to what the outlook begins with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.season.coming import ComingDays
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.values import DailyWeather
from rootbound_rules.tables import load_table
from rootbound_service.weather.day import QUANTITY_NAMES, VITAL
from rootbound_service.weather.forecast.day import PARTIAL, RAIN_CHANCE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from rootbound_service.weather.forecast.day import Forecast
    from rootbound_service.weather.places import Place

MOST_GAP = 10
"""Days between the last real weather and tonight that older issues may stand for."""
RAIN = QUANTITY_NAMES.index("rain_mm")


@dataclass(frozen=True, slots=True, eq=False)
class Coming:
    """What is expected of a place."""

    days: dict[tuple[float, float], ComingDays]
    """By base and ceiling of the heat units."""
    source: str
    """Short name of the service."""
    issued: date
    through: date
    title: str = ""
    """Name of the service for people."""


def last_moment(night: date, now: datetime) -> datetime:
    """Give the moment up to which a night may know forecasts; one of the past knows no later ones.

    Parameters
    ----------
    night
        The night.
    now
        When it is run, aware UTC.
    """
    return min(now, datetime.combine(night + timedelta(days=1), time(12), UTC))


def coming_days(
    issues: Sequence[Forecast],
    place: Place,
    elevation_m: float,
    known_through: date,
    night: date,
    moment: datetime,
    limits: Iterable[tuple[float, float]],
) -> Coming | None:
    """Put the days after the last real one together.

    Parameters
    ----------
    issues
        Forecasts of the place, the newest first.
    place
        The place.
    elevation_m
        Its height. [m]
    known_through
        Last day of real weather.
    night
        The night.
    moment
        Up to which issues count.
    limits
        Base and ceiling of the heat units of the crops that grow there.

    Returns
    -------
    Coming or None
        None without a usable forecast of the night's own day.
    """
    first = known_through + timedelta(days=1)
    if (night - first).days > MOST_GAP:
        return None
    chosen = _choose(issues, first, night, moment)
    if first + timedelta(days=len(chosen)) <= night:
        return None  # the days between must be whole, or nothing after them counts
    values = np.stack([_traces(one, day, place.key) for day, one in chosen], axis=2)
    lead = next(one for day, one in chosen if day >= night)
    days = {one: _coming(values, first, place, elevation_m, one) for one in limits}
    return Coming(days, lead.source, _local(lead), chosen[-1][0])


def _choose(
    issues: Sequence[Forecast], first: date, night: date, moment: datetime
) -> list[tuple[date, Forecast]]:
    """The issue for each day: the newest that covers it, as long as there is one."""
    rows = load_table("outlook")
    # A night played again later must find the issues fresh that it found fresh then.
    run = min(moment, datetime.combine(night, time(12), UTC))
    oldest = run - timedelta(hours=rows.number("forecast.oldest_hours"))
    # Local days, by the forecast itself: one that begins after the night was made after it.
    issues = [one for one in issues if one.start <= night]
    fresh = [one for one in issues if one.issued >= oldest]
    chosen: list[tuple[date, Forecast]] = []
    day = first
    while True:
        of_day = fresh if day >= night else issues
        found = next(
            (one for one in of_day if _covers(one, day) and _within(one, day, night)), None
        )
        if found is None:
            return chosen
        chosen.append((day, found))
        day += timedelta(days=1)


def _within(forecast: Forecast, day: date, night: date) -> bool:
    """Tell whether a day is not too far ahead to be believed."""
    name = "forecast.single_days" if forecast.members == 1 else "forecast.ensemble_days"
    return (day - night).days < load_table("outlook").number(name)


def _covers(forecast: Forecast, day: date) -> bool:
    """Tell whether a forecast has the whole of a day in every member."""
    if not forecast.start <= day <= forecast.end:
        return False
    column = (day - forecast.start).days
    rows = [forecast.quantities.index(name) for name in VITAL if name in forecast.quantities]
    whole = len(rows) == len(VITAL) and not (forecast.made[rows, column] & PARTIAL).any()
    return whole and bool(np.isfinite(forecast.values[rows, :, column]).all())


def _traces(forecast: Forecast, day: date, key: str) -> NDArray[np.float64]:
    """One day in every trace, shape (quantity, trace)."""
    count = int(load_table("outlook").number("forecast.traces"))
    column = (day - forecast.start).days
    own = forecast.values[:, :, column]
    take = np.arange(count) % forecast.members
    table = np.full((len(QUANTITY_NAMES), count), np.nan)
    for row, name in enumerate(QUANTITY_NAMES):
        if name in forecast.quantities:
            table[row] = own[forecast.quantities.index(name), take]
    if forecast.members == 1 and RAIN_CHANCE in forecast.quantities:
        chance = float(own[forecast.quantities.index(RAIN_CHANCE), 0])
        table[RAIN] = split_rain(float(table[RAIN, 0]), chance, count, f"{key}|{day}")
    return table


def split_rain(amount: float, chance: float, count: int, key: str) -> NDArray[np.float64]:
    """Split an expected amount into wet and dry traces that have it as their mean.

    Parameters
    ----------
    amount
        Expected rain of the day, which counts the chance that none falls. [mm]
    chance
        That any falls; NaN where nobody says. [0-1]
    count
        How many traces there are.
    key
        Of the place and day; the same key gives the same traces wet.

    Returns
    -------
    ndarray
        Rain of each trace; at least one is wet where any is expected. [mm]
    """
    if not np.isfinite(chance) or amount <= 0.0:
        return np.full(count, max(amount, 0.0))
    wet = min(max(round(chance * count), 1), count)
    seed = int.from_bytes(sha256(key.encode()).digest()[:8], "big")
    rain = np.zeros(count)
    rain[np.random.default_rng(seed).permutation(count)[:wet]] = amount * count / wet
    return rain


def _coming(
    values: NDArray[np.float64],
    first: date,
    place: Place,
    elevation_m: float,
    limits: tuple[float, float],
) -> ComingDays:
    """Work out every trace; those that differ in rain alone share one look at the air."""
    from rootbound_rules.season.kernel import demand_loop

    air = np.delete(values, RAIN, axis=0)
    alike = bool((np.nan_to_num(air) == np.nan_to_num(air[:, :1])).all())
    demands = [
        cell_demand(
            _weather(values[:, trace], first), place.cell.lat, elevation_m, *limits, demand_loop
        )
        for trace in range(1 if alike else values.shape[1])
    ]
    each = demands * values.shape[1] if alike else demands
    return ComingDays(
        start=first,
        rain_mm=values[RAIN],
        et0_mm=np.array([one.et0_mm for one in each]),
        gdd_f=np.array([one.gdd_f for one in each]),
        climate=np.array([one.climate for one in each]),
    )


def _weather(values: NDArray[np.float64], first: date) -> DailyWeather:
    """One trace as days; a quantity without any value is left out."""
    columns = {
        name: None if name not in VITAL and np.isnan(values[row]).all() else values[row]
        for row, name in enumerate(QUANTITY_NAMES)
    }
    return DailyWeather(first, **columns)  # type: ignore[arg-type]  # VITAL are never None


def _local(forecast: Forecast) -> date:
    """Local day of issue: the forecast's first."""
    return forecast.start
