"""What anybody could know of a past season without a dig: rain, a climate index, a plain bucket.

Every score is one number a year and higher where stress was worse. A model that does not beat
them is not worth its trouble.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.risk.exposure import exposure
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.draw import central_draw
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.trace_day import TraceDay
from rootbound_rules.season.values import (
    OPTIONAL_SERIES,
    REQUIRED_SERIES,
    DailyWeather,
    FieldSeason,
)
from rootbound_service.errors import Problem, RefusedInput

Values = NDArray[np.float64]
SEASON_MONTHS = (5, 8)
"""May to August."""
JULY = (7, 7)
SPEI_MONTHS = (6, 8)
"""June to August: three months that end with August."""
SPEI_OFF = 0.25
"""How far a standard index may be from mean 0 and deviation 1 before its fit is not believed."""
FEWEST_SPEI_YEARS = 30
"""To fit a distribution to: the normal period of WMO's guide on the SPI (WMO-No. 1090)."""
KCB_MID = 1.15
"""Basal crop coefficient of maize in mid season as FAO-56 Table 17 has it, whatever the rules
have come to use. [-]"""
SPIN_UP = timedelta(days=120)
"""Days before planting that a season's weather begins; longer than any spin-up."""
DAYS_OF_SEASON = 240


def whole_years(weather: DailyWeather) -> tuple[int, ...]:
    """Years of which the weather has every day, in order."""
    years = range(weather.start.year, weather.end.year + 1)
    inside = (weather.start, weather.end)
    return tuple(
        year for year in years if inside[0] <= date(year, 1, 1) and date(year, 12, 31) <= inside[1]
    )


def rain_of(weather: DailyWeather, years: Sequence[int], months: tuple[int, int]) -> Values:
    """Rain from the first to the last of some months. [mm]

    Parameters
    ----------
    weather
        Days that cover these months of every year.
    years
        Wanted.
    months
        First and last, 1 to 12.

    Returns
    -------
    ndarray
        A sum for each year; NaN where a day's rain is missing. [mm]

    Raises
    ------
    RefusedInput
        If the weather does not cover a year's months.
    """
    spans = [_months(year, *months) for year in years]
    return np.array([float(days_between(weather, *span).rain_mm.sum()) for span in spans])


def dry_july(weather: DailyWeather, years: Sequence[int]) -> Values:
    """Minus the rain of July. [mm]"""
    return -rain_of(weather, years, JULY)


def dry_season(weather: DailyWeather, years: Sequence[int]) -> Values:
    """Minus the rain from May to August. [mm]"""
    return -rain_of(weather, years, SEASON_MONTHS)


def usual_year(anomaly: Values) -> Values:
    """Mean anomaly of the other years: the guess of one who knows nothing of a year.

    A prediction, no score: the mean of the others falls exactly as the year itself rises, so
    that its correlation with what came is -1 and says nothing. The skill of other predictions
    is measured by it, and its own is 0 by that.

    Parameters
    ----------
    anomaly
        Of the yield, one a year.

    Returns
    -------
    ndarray
        A prediction for each year, in the anomaly's unit.
    """
    return np.asarray((anomaly.sum() - anomaly) / (len(anomaly) - 1))


def spei_3(weather: DailyWeather, years: Sequence[int], lat: float, elevation_m: float) -> Values:
    """Minus the SPEI of June to August: water that came less water the air asked for.

    Parameters
    ----------
    weather
        Whole years, thirty or more, those wanted among them: its whole years are what the
        wanted ones are compared with.
    years
        Wanted.
    lat, elevation_m
        Of the place. [deg, m]

    Returns
    -------
    ndarray
        Standard deviations, higher is drier. [-]

    Raises
    ------
    RefusedInput
        If the library ``spei`` is not installed, or years are too few or not covered.

    References
    ----------
    Vicente-Serrano, Begueria & Lopez-Moreno 2010. J. Climate 23:1696-1718.
    """
    try:
        from spei import si
    except ImportError:
        wanted = 'install it: pip install "rootbound[skill]"'
        raise RefusedInput((Problem("SPEI", "needs the library spei", wanted),)) from None
    known = whole_years(weather)
    if len(known) < FEWEST_SPEI_YEARS or not set(years) <= set(known):
        what = f"there are {len(known)} whole years of weather"
        wanted = f"give {FEWEST_SPEI_YEARS} or more, with every year that is asked for"
        raise RefusedInput((Problem("SPEI", what, wanted),))
    import pandas as pd

    balance = _summer_balance(weather, known, lat, elevation_m)
    days = pd.DatetimeIndex([_months(year, *SPEI_MONTHS)[1] for year in known])
    found = si.spei(pd.Series(balance, days), fit_freq="ME").to_numpy(np.float64)
    if abs(found.mean()) > SPEI_OFF or abs(found.std() - 1.0) > SPEI_OFF:
        what = f"has mean {found.mean():.2f} and deviation {found.std():.2f}, not 0 and 1"
        wanted = "its distribution does not fit here: compare by rain instead"
        raise RefusedInput((Problem("SPEI", what, wanted),))
    return np.array([-found[known.index(year)] for year in years])


def bucket(
    field: FieldSeason, weather: DailyWeather, planted: Mapping[int, date]
) -> dict[int, float]:
    """Weighted stress of free maize roots, no water table: FAO-56 as published. [%]

    Parameters
    ----------
    field
        Place and soil; its digs and water table are left out, its planting date replaced.
    weather
        Days that cover the seasons.
    planted
        Planting day by year.

    Returns
    -------
    dict
        By year, as :func:`weighted_stress`. [%]

    Raises
    ------
    RefusedInput
        If the weather does not cover a season.
    """
    plain = replace(field, digs=(), soil=replace(field.soil, water_table_m=None))
    draw = replace(central_draw(plain.soil), kcb_mid=KCB_MID)
    found: dict[int, float] = {}
    for year, day in planted.items():
        first, last = day - SPIN_UP, day + timedelta(days=DAYS_OF_SEASON)
        days = days_between(weather, max(first, weather.start), min(last, weather.end))
        demand = cell_demand(days, field.lat, field.elevation_m)
        found[year] = weighted_stress(run_trace(replace(plain, planted=day), demand, draw))
    return found


def weighted_stress(days: Sequence[TraceDay], *, held: bool = False) -> float:
    """Stress-day equivalents of a season times the published mean loss per stress day. [%]

    Not held at 100 as a loss would be: it is there to tell bad seasons from worse ones.

    Parameters
    ----------
    days
        A season of maize.
    held
        The held twin instead of the free one.
    """
    twins = ((day.stage, day.held if held else day.free) for day in days)
    found = exposure([(stage, twin.stress) for stage, twin in twins if twin.stress > 0.0])
    shares = found.shares if found else ()
    return float(sum(share.stress[1] * share.per_day[1] for share in shares))


def days_between(weather: DailyWeather, first: date, last: date) -> DailyWeather:
    """Cut some days out of longer weather.

    Parameters
    ----------
    weather
        Longer.
    first, last
        Days to keep, both included.

    Raises
    ------
    RefusedInput
        If the weather does not have them all.
    """
    if first < weather.start or last > weather.end:
        what = f"runs from {weather.start} to {weather.end}"
        wanted = f"give every day from {first} to {last}"
        raise RefusedInput((Problem("weather", what, wanted),))
    at, end = (first - weather.start).days, (last - weather.start).days + 1
    parts = {name: getattr(weather, name) for name in REQUIRED_SERIES + OPTIONAL_SERIES}
    given = {name: part[at:end] for name, part in parts.items() if part is not None}
    return replace(weather, start=first, **given)


def _months(year: int, first: int, last: int) -> tuple[date, date]:
    """First and last day of some months of a year."""
    after = date(year + last // 12, last % 12 + 1, 1)
    return date(year, first, 1), after - timedelta(days=1)


def _summer_balance(
    weather: DailyWeather, years: Sequence[int], lat: float, elevation_m: float
) -> Values:
    """Rain minus reference evapotranspiration over the months of the index, by year. [mm]"""
    demand = cell_demand(weather, lat, elevation_m)
    left = demand.rain_mm - demand.et0_mm
    spans = [_months(year, *SPEI_MONTHS) for year in years]
    sums = [left[demand.index(first) : demand.index(last) + 1].sum() for first, last in spans]
    return np.array(sums, np.float64)
