"""Penetrometer readings of Iowa beside the law by which strength rises as soil dries.

Source: Marsden farm near Ames, Iowa (public R package maRsden), eight maize plots a date,
8 to 11 probes a plot; cores of 0-45 cm with weighed water on 10 May 2018 alone. Plots of the
two-crop rotation are chiselled, those of the four-crop rotation ploughed, and by that alone
differ as much as the dates do. On 10 May 2018 the depths may be 2.5 cm too small (so says
the note of those who took them).
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import date
from functools import cache
from statistics import fmean, stdev

import numpy as np
from scipy import stats

from rootbound_rules.crop.wall import drying_exponent
from seasons.sensor_days import day_means, weighed
from seasons.soil_data import IOWA, Plot, plots_between

READINGS = IOWA / "penetrometer.csv"
FURROW_CM = (10.0, 20.4)
SEED_CM = (5.0, 10.2)
SOIL_CM = (10.0, 20.0)
WHOLE_CORE_CM = (5.0, 46.0)
MAY, JULY = "2018-05-10", "2018-07-16"
SENSOR_ERROR = 0.03
"""What a sensor without its own calibration may be wrong by. [m3 m-3]"""


@dataclass(frozen=True, slots=True)
class Probe:
    """One push of the cone, mean between two depths."""

    date: str
    plot: str
    rep: str
    kpa: float
    water: float | None
    """Of the core beside it, by mass. [g g-1]"""


@dataclass(frozen=True, slots=True)
class Day:
    """Resistance of a date, over plots. [MPa]"""

    date: str
    plots: int
    probes: int
    mean: float
    low: float
    high: float
    """95 % interval of the mean over plots."""


@dataclass(frozen=True, slots=True)
class Slope:
    """Regression of ln resistance on ln water."""

    cores: int
    slope: float
    low: float
    high: float
    """95 % interval."""


@dataclass(frozen=True, slots=True)
class Change:
    """Resistance of July over that of May, plot by plot. [-]"""

    plots: int
    ratio: float
    low: float
    high: float
    """95 % interval of the mean over plots."""


@dataclass(frozen=True, slots=True)
class Readings:
    """What the readings alone say of the law."""

    days: tuple[Day, ...]
    shallow: tuple[Day, ...]
    """At 5-10 cm, about the depth of the seed."""
    slopes: dict[str, Slope]
    """Between cores of one day, and within plots."""
    change: dict[str, Change]
    """By rotation, and of all plots."""
    exponent: float
    """The law's, for the soil of 10-20 cm."""
    law: dict[str, tuple[float, float]]
    """By plot on 10 May: the law and the readings. [MPa]"""
    may_water: float
    july_water: float
    """Weighed cores; sensors at 15 cm. [m3 m-3]"""


@cache
def probes(between_cm: tuple[float, float]) -> list[Probe]:
    """Return every push as its mean between two depths."""
    found: dict[tuple[str, str, str], list[tuple[float, str]]] = {}
    with READINGS.open(encoding="utf-8", newline="") as text:
        for row in csv.DictReader(text):
            if between_cm[0] <= float(row["depth_cm"]) <= between_cm[1]:
                key = (row["date"], row["plot_id"], row["rep_id"])
                found.setdefault(key, []).append((float(row["resis_kpa"]), row["soilh2o_g.g"]))
    return [
        Probe(key[0], key[1][-2:], key[2], fmean(kpa for kpa, _ in read), weighed(read[0][1]))
        for key, read in found.items()
    ]


def law_mpa(clay_pct: float, carbon_pct: float, density: float, water: float) -> float:
    """Resistance by da Silva & Kay 1997, the whole equation. [MPa]

    Parameters
    ----------
    clay_pct, carbon_pct
        By mass. [%]
    density
        Of the dry soil. [g cm-3]
    water
        By volume. [m3 m-3]
    """
    level = -3.6733 - 0.1447 * clay_pct + 0.7653 * carbon_pct
    packed = (3.8521 + 0.0963 * clay_pct) * math.log(density)
    dried = drying_exponent(clay_pct, carbon_pct) * math.log(water)
    return math.exp(level + packed + dried)


def read_cone() -> Readings:
    """Return what the readings say of the law."""
    pushed = probes(FURROW_CM)
    soils = plots_between(*SOIL_CM)
    clay = fmean(soil.clay_pct for soil in soils.values())
    carbon = fmean(soil.carbon_pct for soil in soils.values())
    may, july = _by_plot(pushed, MAY), _by_plot(pushed, JULY)
    water = _may_water(pushed, soils)
    return Readings(
        days=days_of(FURROW_CM),
        shallow=days_of(SEED_CM),
        slopes={
            "10-20 cm": _slope(pushed, within=False),
            "10-20 cm, within plots": _slope(pushed, within=True),
            "5-45 cm": _slope(probes(WHOLE_CORE_CM), within=False),
        },
        change={
            "both": _change(may, july, list(soils)),
            "two crops, chiselled": _change(
                may, july, [p for p in soils if soils[p].rotation == 2]
            ),
            "four crops, ploughed": _change(
                may, july, [p for p in soils if soils[p].rotation == 4]
            ),
        },
        exponent=drying_exponent(clay, carbon),
        law={
            plot: (law_mpa(soil.clay_pct, soil.carbon_pct, soil.density, water[plot]), may[plot])
            for plot, soil in soils.items()
        },
        may_water=fmean(water.values()),
        july_water=day_means(15)[date.fromisoformat(JULY)],
    )


def days_of(between_cm: tuple[float, float]) -> tuple[Day, ...]:
    """Return each date over its plots, mean between two depths."""
    pushed = probes(between_cm)
    return tuple(_day(pushed, day) for day in sorted({push.date for push in pushed}))


def _by_plot(pushed: list[Probe], day: str) -> dict[str, float]:
    """Mean resistance of a day's plots. [MPa]"""
    plots = sorted({push.plot for push in pushed if push.date == day})
    return {
        plot: 0.001 * fmean(x.kpa for x in pushed if x.date == day and x.plot == plot)
        for plot in plots
    }


def _day(pushed: list[Probe], day: str) -> Day:
    """One date over its plots."""
    means = list(_by_plot(pushed, day).values())
    low, high = _interval(means)
    count = sum(push.date == day for push in pushed)
    return Day(day, len(means), count, fmean(means), low, high)


def _change(may: dict[str, float], july: dict[str, float], plots: list[str]) -> Change:
    """July over May of some plots."""
    logs = [math.log(july[plot] / may[plot]) for plot in plots]
    low, high = _interval(logs)
    return Change(len(plots), math.exp(fmean(logs)), math.exp(low), math.exp(high))


def _interval(values: list[float]) -> tuple[float, float]:
    """Return the 95 % interval of a mean."""
    half = float(stats.t.ppf(0.975, len(values) - 1)) * stdev(values) / math.sqrt(len(values))
    return fmean(values) - half, fmean(values) + half


def _may_water(pushed: list[Probe], soils: dict[str, Plot]) -> dict[str, float]:
    """Water of each plot's cores on 10 May at the density of 10-20 cm. [m3 m-3]"""
    return {
        plot: soil.density
        * fmean(x.water for x in pushed if x.plot == plot and x.date == MAY and x.water is not None)
        for plot, soil in soils.items()
    }


def _slope(pushed: list[Probe], *, within: bool) -> Slope:
    """Regression of ln resistance on ln water over the cores, plots set apart or not."""
    cores = [(push.plot, push.kpa, push.water) for push in pushed if push.water is not None]
    x = np.log([water for _, _, water in cores])
    y = np.log([kpa for _, kpa, _ in cores])
    lost = 2
    if within:
        plots = sorted({plot for plot, _, _ in cores})
        for plot in plots:
            at = np.array([other == plot for other, _, _ in cores])
            x[at] -= x[at].mean()
            y[at] -= y[at].mean()
        lost = 1 + len(plots)
    else:
        x, y = x - x.mean(), y - y.mean()
    slope = float(x @ y / (x @ x))
    left = y - slope * x
    error = math.sqrt(float(left @ left) / (len(cores) - lost) / float(x @ x))
    half = float(stats.t.ppf(0.975, len(cores) - lost)) * error
    return Slope(len(cores), slope, slope - half, slope + half)
