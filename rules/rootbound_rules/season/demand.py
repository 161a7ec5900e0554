"""What the air asks for and the heat it gives, day by day, for one weather cell.

Computed once per cell however many fields lie in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.heat import gdd_f
from rootbound_rules.equation import equation
from rootbound_rules.errors import RulesError
from rootbound_rules.numeric import clip
from rootbound_rules.tables import load_table
from rootbound_rules.water.air import (
    lowest_humidity,
    vapour_from_dewpoint,
    vapour_from_humidities,
    vapour_from_rhmax,
    vapour_from_tmin,
)
from rootbound_rules.water.coefficients import climate_term
from rootbound_rules.water.radiation import clear_sky, extraterrestrial, from_temperatures
from rootbound_rules.water.reference_et import reference_et

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from rootbound_rules.season.values import DailyWeather, Series

ABSENT = -9999.0
"""Stands for a missing value: the compiled code may not test for NaN."""
FILLED_SOLAR, FILLED_HUMIDITY, FILLED_WIND, GIVEN_ET0, GAP = 1, 2, 4, 8, 16
"""Bits of a day's ``made`` mark: which inputs were estimated, or that ET0 was given."""


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """One cell's days in the terms of the daily step, each of shape (days,)."""

    start: date
    rain_mm: Series
    et0_mm: Series
    gdd_f: Series
    climate: Series
    """The bracket of FAO-56 Eq. 70 and 72. [-]"""
    irrigation_mm: Series
    made: NDArray[np.uint8]
    """Bits: what was estimated on the day."""

    def __len__(self) -> int:
        return len(self.rain_mm)

    def index(self, day: date) -> int:
        """Position of a day in the arrays."""
        return (day - self.start).days


@equation
def day_demand(
    tmax: float,
    tmin: float,
    solar: float,
    dewpoint: float,
    rhmax: float,
    rhmin: float,
    wind: float,
    given: float,
    ra: float,
    elevation: float,
    krs: float,
    usual_wind: float,
) -> tuple[float, float]:
    """Reference evapotranspiration and climate term of one day; ``ABSENT`` marks a gap.

    Order of preference, FAO-56 chapter 3: what was measured; else radiation from Eq. 50,
    humidity from Eq. 48, wind at its usual 2 m/s. A given ET0 is used as it is.

    Returns
    -------
    tuple of float
        ``ET0`` [mm] and the bracket of Eq. 70 [-].
    """
    rso = clear_sky(ra, elevation)
    rs = solar if solar >= 0.0 else from_temperatures(ra, tmax, tmin, krs, rso)
    u2 = wind if wind >= 0.0 else usual_wind
    if rhmax >= 0.0 and rhmin >= 0.0:
        vapour = vapour_from_humidities(tmax, tmin, rhmax, rhmin)
    elif dewpoint > -900.0:
        vapour = vapour_from_dewpoint(dewpoint)
    elif rhmax >= 0.0:
        vapour = vapour_from_rhmax(tmin, rhmax)
    else:
        vapour = vapour_from_tmin(tmin)
    driest = rhmin if rhmin >= 0.0 else lowest_humidity(vapour, tmax)
    et0 = given if given >= 0.0 else reference_et(tmax, tmin, rs, rso, vapour, u2, elevation)
    return et0, climate_term(u2, clip(driest, 0.0, 100.0))


def cell_demand(
    weather: DailyWeather,
    lat: float,
    elevation_m: float,
    base_f: float = 50.0,
    ceiling_f: float = 86.0,
    loop: Callable[..., None] | None = None,
) -> Demand:
    """Work out a cell's days.

    Parameters
    ----------
    weather
        Days of the cell; gaps in temperature are bridged in a straight line, missing rain
        counts as none, and both are marked in ``made``.
    lat
        Latitude. [deg]
    elevation_m
        Height above the sea. [m]
    base_f, ceiling_f
        Limits of the crop's heat units. [degF]
    loop
        The compiled loop over days (``season.kernel.demand_loop``); None runs it in Python.

    Raises
    ------
    RulesError
        If the weather has no day with both temperatures.
    """
    rules, n = load_table("season"), len(weather)
    tmax, tmin = _bridged(weather.tmax_c, "tmax_c"), _bridged(weather.tmin_c, "tmin_c")
    ra = _radiation(lat, weather.start, n)
    solar, dewpoint, rhmax, rhmin, wind, given = (
        _or_absent(weather, name, n) for name in _MEASURED
    )
    et0, gdd, climate = np.empty(n), np.empty(n), np.empty(n)
    (loop or demand_days)(
        tmax,
        tmin,
        solar,
        dewpoint,
        rhmax,
        rhmin,
        wind,
        given,
        ra,
        elevation_m,
        rules.number("radiation_krs"),
        rules.number("wind_m_s"),
        base_f,
        ceiling_f,
        et0,
        gdd,
        climate,
    )
    gap = np.isnan(weather.tmax_c) | np.isnan(weather.tmin_c) | np.isnan(weather.rain_mm)
    made = (
        FILLED_SOLAR * (solar < 0)
        + FILLED_HUMIDITY * ((dewpoint < -900) & (rhmax < 0))
        + FILLED_WIND * (wind < 0)
        + GIVEN_ET0 * (given >= 0)
        + GAP * gap
    ).astype(np.uint8)
    irrigation = weather.irrigation_mm
    return Demand(
        start=weather.start,
        rain_mm=np.nan_to_num(weather.rain_mm),
        et0_mm=et0,
        gdd_f=gdd,
        climate=climate,
        irrigation_mm=np.zeros(n) if irrigation is None else np.nan_to_num(irrigation),
        made=made,
    )


_MEASURED = ("solar_mj", "dewpoint_c", "rhmax_pct", "rhmin_pct", "wind_m_s", "et0_mm")


def demand_days(
    tmax: Series,
    tmin: Series,
    solar: Series,
    dewpoint: Series,
    rhmax: Series,
    rhmin: Series,
    wind: Series,
    given: Series,
    ra: Series,
    elevation: float,
    krs: float,
    usual_wind: float,
    base_f: float,
    ceiling_f: float,
    et0: Series,
    gdd: Series,
    climate: Series,
) -> None:
    """Fill ``et0``, ``gdd`` and ``climate`` day by day; compiled in ``season.kernel``."""
    for d in range(len(tmax)):
        et0[d], climate[d] = day_demand(
            tmax[d],
            tmin[d],
            solar[d],
            dewpoint[d],
            rhmax[d],
            rhmin[d],
            wind[d],
            given[d],
            ra[d],
            elevation,
            krs,
            usual_wind,
        )
        gdd[d] = gdd_f(tmax[d], tmin[d], base_f, ceiling_f)


def _bridged(series: Series, name: str) -> Series:
    """A temperature series with its gaps bridged in a straight line."""
    known = ~np.isnan(series)
    if not known.any():
        raise RulesError(f"{name} has no value on any day: nothing can be computed from it")
    days = np.arange(len(series))
    return np.asarray(np.interp(days, days[known], series[known]), np.float64)


def _or_absent(weather: DailyWeather, name: str, n: int) -> Series:
    """A measured series with gaps marked, or all marked where the source lacks it."""
    series: Series | None = getattr(weather, name)
    return np.full(n, ABSENT) if series is None else np.nan_to_num(series, nan=ABSENT)


def _radiation(lat: float, start: date, n: int) -> Series:
    """Radiation above the air for each day. [MJ m-2 d-1]"""
    by_doy = np.array([extraterrestrial(lat, doy) for doy in range(1, 367)])
    first = np.datetime64(start)
    days = first + np.arange(n)
    doy = (days - days.astype("datetime64[Y]")).astype(int)
    return np.asarray(by_doy[doy], np.float64)
