"""One fallback at one station: what it costs beside the same days with everything measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from rootbound_rules.season.demand import cell_demand
from rootbound_rules.tables import load_table
from rootbound_rules.water.coefficients import height_factor
from rootbound_rules.water.reference_et import hargreaves
from seasons.stations import Station, Values

HUMIDITY = ("dewpoint_c", "rhmax_pct", "rhmin_pct")
WIND = ("wind_m_s",)
SUN = ("solar_mj",)
WINDS = (2.0, 2.5, 3.0)
TALL = height_factor(load_table("maize").number("height_m"))
"""How much of the bracket of Eqs. 70 and 72 full-grown maize feels. [-]"""


@dataclass(frozen=True, slots=True)
class Loss:
    """What one fallback costs at one station."""

    station: str
    fallback: str
    et0: float
    """ET0 with everything measured, May-September. [mm d-1]"""
    bias: float
    """Mean error, May-September. [mm d-1]"""
    year_bias: float
    """Mean error of all days. [mm d-1]"""
    rmse: float
    """Of single days, May-September. [mm d-1]"""
    kcb: float
    """Mean error of the mid-season coefficient, June-August. [-]"""

    @property
    def percent(self) -> float:
        """Mean error in percent of the measured."""
        return 100.0 * self.bias / self.et0


@dataclass(frozen=True, slots=True)
class DewPoint:
    """How one estimate of the dew point does at one station."""

    station: str
    estimate: str
    error_k: float
    """Estimate less measured, June-August. [K]"""
    loss: Loss


@dataclass(frozen=True, slots=True)
class Wind:
    """The wind at 2 m of one station, and what a constant in its place costs."""

    station: str
    mean: float
    """June-August. [m s-1]"""
    median: float
    """Of the days of June-August. [m s-1]"""
    losses: tuple[Loss, ...]
    """One for each of ``WINDS``."""


def without(station: Station, fields: Sequence[str], name: str) -> Loss:
    """Measure what it costs to lack some series.

    Parameters
    ----------
    station
        The place.
    fields
        Names of the series taken away.
    name
        What the fallback is called.
    """
    return instead(station, dict.fromkeys(fields), name)


def instead(station: Station, series: dict[str, Any], name: str) -> Loss:
    """Measure what it costs to have other series in place of the measured ones.

    Parameters
    ----------
    station
        The place.
    series
        What stands for the measured series, by name; None leaves it to the model.
    name
        What the fallback is called.
    """
    et0, climate = _demand(station)
    ours, term = _demand(replace(station, weather=replace(station.weather, **series)))
    return _loss(station, name, (et0, ours), (climate, term))


def by_hargreaves(station: Station, name: str) -> Loss:
    """Measure what the formula from temperatures alone costs; it gives no coefficient."""
    days = station.weather
    each = zip(days.tmax_c, days.tmin_c, station.sun_above, strict=True)
    ours = np.array([hargreaves(hi, lo, ra) for hi, lo, ra in each])
    et0, climate = _demand(station)
    return _loss(station, name, (et0, ours), (climate, np.full(len(days), np.nan)))


def _demand(station: Station) -> tuple[Values, Values]:
    demand = cell_demand(station.weather, station.lat, station.elevation_m)
    return demand.et0_mm, demand.climate


def _loss(
    station: Station, name: str, et0: tuple[Values, Values], climate: tuple[Values, Values]
) -> Loss:
    """Compare the measured with the estimated, given in this order."""
    off = et0[1] - et0[0]
    return Loss(
        station=station.name,
        fallback=name,
        et0=float(et0[0][station.season].mean()),
        bias=float(off[station.season].mean()),
        year_bias=float(off.mean()),
        rmse=float(np.sqrt(np.mean(off[station.season] ** 2))),
        kcb=float(TALL * (climate[1] - climate[0])[station.summer].mean()),
    )
