"""Root depth of the model beside soil cores of 2018 and 2019.

The published front speed is that of the deepest roots. A core of a few centimetres meets the
deepest root of its own few centimetres only: the mean of many cores lies well above the front.
So the front is held against the deepest core of each date, and the mean of the cores against
the front times a share that is measured on the cores of the other year.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from statistics import fmean

from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.values import FieldSeason
from rootbound_service.replay.baselines import days_between
from seasons.baselines import ELEVATION_M, IOWA, LAT
from seasons.field import trial_soil, weather

CORES = IOWA / "root_depth_2018_2019.csv"
PLANTED = {2018: date(2018, 5, 8), 2019: date(2019, 6, 3)}
SUMMER = (6, 8)
"""Months in which roots grow and were cored."""
GOAL = 0.15


@dataclass(frozen=True, slots=True)
class Cored:
    """One date."""

    day: date
    cores: int
    mean_cm: float
    deepest_cm: float
    front_cm: float
    """The model's. [cm]"""
    share: float
    """Mean over deepest, as the cores of the other year have it. [-]"""

    @property
    def expected_cm(self) -> float:
        """Mean of cores that the model's front stands for. [cm]"""
        return self.share * self.front_cm


@dataclass(frozen=True, slots=True)
class Measured:
    """All dates of June to August."""

    dates: tuple[Cored, ...]

    def of(self, year: int | None) -> tuple[Cored, ...]:
        """Dates of one year, or all."""
        return tuple(one for one in self.dates if year is None or one.day.year == year)

    def mean_ratio(self, year: int | None = None) -> float:
        """Model over mean of the cores, sums over the dates. [-]"""
        chosen = self.of(year)
        return sum(one.expected_cm for one in chosen) / sum(one.mean_cm for one in chosen)

    def front_ratio(self, year: int | None = None) -> float:
        """Front over deepest core, sums over the dates. [-]"""
        chosen = self.of(year)
        return sum(one.front_cm for one in chosen) / sum(one.deepest_cm for one in chosen)

    def plain_ratio(self, year: int | None = None) -> float:
        """Front over mean of the cores, as if they were one and the same. [-]"""
        chosen = self.of(year)
        return sum(one.front_cm for one in chosen) / sum(one.mean_cm for one in chosen)


def measure() -> Measured:
    """Hold the front of both years against the cores."""
    cores = _cores(CORES)
    fronts = {year: _fronts(year) for year in PLANTED}
    shares = {year: _share(cores, year) for year in PLANTED}
    other = {2018: shares[2019], 2019: shares[2018]}
    return Measured(
        tuple(
            Cored(
                day=day,
                cores=len(depths),
                mean_cm=fmean(depths),
                deepest_cm=max(depths),
                front_cm=fronts[day.year][day],
                share=other[day.year],
            )
            for day, depths in cores.items()
        )
    )


def _cores(path: Path) -> dict[date, list[float]]:
    """Depths of the cores of each summer date with any root. [cm]"""
    found: dict[date, list[float]] = {}
    with path.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            day = date.fromisoformat(row["date"])
            if row["rootdepth_cm"] != "NA" and SUMMER[0] <= day.month <= SUMMER[1]:
                found.setdefault(day, []).append(float(row["rootdepth_cm"]))
    return {day: depths for day, depths in sorted(found.items()) if max(depths) > 0.0}


def _share(cores: Mapping[date, list[float]], year: int) -> float:
    """Mean over deepest core, mean over a year's dates. [-]"""
    return fmean(fmean(found) / max(found) for day, found in cores.items() if day.year == year)


def _fronts(year: int) -> dict[date, float]:
    """Depth of the model's free roots by day. [cm]"""
    planted = PLANTED[year]
    days = days_between(weather(), planted - timedelta(days=90), date(year, 9, 30))
    season = FieldSeason(LAT, ELEVATION_M, planted, trial_soil())
    demand = cell_demand(days, LAT, ELEVATION_M)
    return {day.date: 100.0 * day.free.depth for day in run_trace(season, demand)}


def section(measured: Measured) -> str:
    """The page's part on root depth."""
    head = (
        "| date | cores | mean of cores, cm | deepest core, cm | model's front, cm "
        "| mean that the front stands for, cm |"
    )
    rows = [
        f"| {one.day} | {one.cores} | {one.mean_cm:.0f} | {one.deepest_cm:.0f} "
        f"| {one.front_cm:.0f} | {one.expected_cm:.0f} |"
        for one in measured.dates
    ]
    table = "\n".join((head, "| --- |" + " ---: |" * 5, *rows))
    return "\n\n".join((OPENING, table, _verdict(measured), SOURCE)) + "\n"


def _verdict(measured: Measured) -> str:
    def said(ratio: float) -> str:
        return f"{100.0 * (ratio - 1.0):+.0f} %"

    return (
        f"The front lies {said(measured.front_ratio())} from the deepest core "
        f"({said(measured.front_ratio(2018))} in 2018, {said(measured.front_ratio(2019))} in "
        f"2019), and the mean it stands for {said(measured.mean_ratio())} from the mean of the "
        f"cores ({said(measured.mean_ratio(2018))} and {said(measured.mean_ratio(2019))}); wanted "
        f"were 15 %. Taken for one another, front and mean would be "
        f"{said(measured.plain_ratio())} apart. In the flooded June of 2018 the water table kept "
        "the roots up; how long it does so in a given plot is what 2018 gets wrong most."
    )


OPENING = """\
## Root depth beside soil cores

The front speed (0.62, then 3.12 cm a day: Ordonez and others 2018) is that of the deepest roots.
A core meets the deepest root of its own few centimetres only, so the mean of many cores lies above
the front: by the cores themselves at about two thirds of the deepest. That share is taken from the
other year's cores. Water is drawn from down to the front: what a core misses, roots beside it
reach."""
SOURCE = "Cores: Marsden farm, 2018 and 2019 (public R package maRsden, MIT licence)."
