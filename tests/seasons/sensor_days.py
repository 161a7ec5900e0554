"""Soil water as sensors had it in 2018 at 15 and 45 cm, day by day.

Source: eight maize plots of the Marsden farm near Ames, Iowa (public R package maRsden), one
dielectric sensor each at 15 and 45 cm, daily means, 19 May to 1 October 2018; calibrated for
mineral soils at large, not for these plots.

A plot whose sensor fails for a week would shift the mean of the plots that remain, because
plots differ by 0.2 m3/m3. Days are therefore estimated together with one constant a plot.
"""

from __future__ import annotations

import csv
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from statistics import fmean, median, stdev

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from rootbound_rules.season.values import DailyWeather
from seasons.soil_data import IOWA, plots_between

SENSORS = IOWA / "soil_sensors_2018.csv"
CORES = IOWA / "penetrometer.csv"
WEATHER = IOWA / "weather_1980_2020.csv"
DEPTHS_CM = (15, 45)
WETTING_MM = 20.0
QUIET_MM = 5.0
FILLED_MM = 150.0
WATER_G_G = (0.1, 0.4)
"""Two cores outside were weighed or written wrong (-0.03 and 0.60)."""
DAY = timedelta(days=1)
Readings = dict[tuple[date, str], float]


@dataclass(frozen=True, slots=True)
class WetEnd:
    """What the sensors of one depth say of the soil's own limits. [m3 m-3]"""

    depth_cm: int
    after_rain: float
    """Median of days 2-4 after more than 20 mm."""
    filled: float
    """The same where the 30 days before brought more than 150 mm."""
    wettest: float
    driest: float
    plateau: float
    """Mean over plots of what each passes on 5 % of its days: nearly saturated."""
    spread: float
    """Standard deviation between plots of their means."""


@cache
def readings(depth_cm: int) -> Readings:
    """Return every reading of one depth by day and plot. [m3 m-3]"""
    with SENSORS.open(encoding="utf-8", newline="") as text:
        return {
            (date.fromisoformat(row["date"]), row["plot_id"]): float(row["value"])
            for row in csv.DictReader(text)
            if row["sensor_unit"] == "soilVWC"
            and row["sensor_depth_cm"] == str(depth_cm)
            and row["value"] not in {"", "NA"}
        }


@cache
def day_means(depth_cm: int) -> dict[date, float]:
    """Return each day's mean over all plots, those that failed that day filled in.

    Least squares of a day's and a plot's constant, the plots' constants adding up to 0.
    """
    read = readings(depth_cm)
    days = sorted({day for day, _ in read})
    plots = sorted({plot for _, plot in read})
    design = np.zeros((len(read) + 1, len(days) + len(plots)))
    value = np.zeros(len(read) + 1)
    for row, ((day, plot), water) in enumerate(read.items()):
        design[row, days.index(day)] = 1.0
        design[row, len(days) + plots.index(plot)] = 1.0
        value[row] = water
    design[-1, len(days) :] = 1.0
    found = np.linalg.lstsq(design, value, rcond=None)[0]
    return dict(zip(days, map(float, found), strict=False))


def sensor_days() -> dict[date, tuple[float, float, int]]:
    """Return each day's water at 15 and at 45 cm [m3 m-3] and how many plots had both."""
    upper, lower = readings(15), readings(45)
    means = {depth: day_means(depth) for depth in DEPTHS_CM}
    return {
        day: (
            means[15][day],
            means[45][day],
            sum((day, plot) in lower for d, plot in upper if d == day),
        )
        for day in sorted(means[15].keys() & means[45].keys())
    }


def iowa_weather(first: date, last: date) -> DailyWeather:
    """Return the days of the Iowa record; it has no humidity and no wind."""
    days, columns = _record()
    chosen = slice(bisect_left(days, first.isoformat()), bisect_right(days, last.isoformat()))
    tmax, tmin, rain, sun = (column[chosen] for column in columns)
    return DailyWeather(first, tmax, tmin, rain, solar_mj=sun)


@cache
def _record() -> tuple[list[str], list[NDArray[np.float64]]]:
    """The whole record: its days, and tmax, tmin, rain and sun."""
    with WEATHER.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    names = ("maxt_c", "mint_c", "rain_mm", "radn_MJm2")
    return [row["date"] for row in rows], [
        np.array([float(row[name]) for row in rows]) for name in names
    ]


def wet_end(depth_cm: int) -> WetEnd:
    """Read the soil's limits off the sensors of one depth."""
    water, read = day_means(depth_cm), readings(depth_cm)
    rain = rain_by_day()
    after = [
        (water[wet + k * DAY], sum(rain[wet - i * DAY] for i in range(30)))
        for wet in water
        if rain[wet] > WETTING_MM
        for k in (2, 3, 4)
        if wet + k * DAY in water and all(rain[wet + j * DAY] < QUIET_MM for j in range(1, k + 1))
    ]
    plots = sorted({plot for _, plot in read})
    by_plot = [[x for (_, plot), x in read.items() if plot == name] for name in plots]
    return WetEnd(
        depth_cm=depth_cm,
        after_rain=median(x for x, _ in after),
        filled=median(x for x, before in after if before > FILLED_MM),
        wettest=max(water.values()),
        driest=min(water.values()),
        plateau=fmean(float(np.quantile(x, 0.95)) for x in by_plot),
        spread=stdev(fmean(x) for x in by_plot),
    )


def rain_by_day() -> dict[date, float]:
    """Return the rain of 2018 by day. [mm]"""
    weather = iowa_weather(date(2018, 1, 1), date(2018, 12, 31))
    return {weather.start + i * DAY: float(x) for i, x in enumerate(weather.rain_mm)}


@dataclass(frozen=True, slots=True)
class Cores:
    """Weighed water of cores, by volume. [m3 m-3]"""

    cores: int
    plots: int
    mean: float
    low: float
    high: float
    """95 % interval of the mean over plots."""


def may_cores() -> Cores:
    """Return the water of 0-45 cm on 10 May 2018, weighed cores times the plot's density.

    The depth is that of the script by which the data's authors prepared them.
    """
    soils = plots_between(0, 45)
    found: dict[str, dict[str, float]] = {}
    with CORES.open(encoding="utf-8", newline="") as text:
        for row in csv.DictReader(text):
            water = weighed(row["soilh2o_g.g"])
            if water is not None:
                found.setdefault(row["plot_id"][-2:], {})[row["rep_id"]] = water
    means = [soils[plot].density * fmean(cores.values()) for plot, cores in found.items()]
    half = stats.t.ppf(0.975, len(means) - 1) * stdev(means) / len(means) ** 0.5
    middle = fmean(means)
    count = sum(len(cores) for cores in found.values())
    return Cores(count, len(means), middle, middle - half, middle + half)


def weighed(text: str) -> float | None:
    """Read a core's water, None where none was weighed or it cannot be right. [g g-1]"""
    if text in {"", "NA"}:
        return None
    water = float(text)
    return water if WATER_G_G[0] < water < WATER_G_G[1] else None
