"""Seasons of plain invented weather: a smooth year, rain of one size every so many days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from rootbound_rules.risk.stress import NEVER, onset
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.trace_day import TraceDay
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture

LAT, ELEVATION_M = 42.0, 300.0
PLANTED = date(2021, 5, 5)
BEFORE, DAYS = 90, 270
SPRING = 55
"""Days of spring weather after planting: to about V10."""
BEFORE_PLANTING = (4, 8.0)
MOIST = (2, 13.0)
DRY = (12, 6.0)
NONE = (1, 0.0)
Rain = tuple[int, float]
"""Rain every so many days, of so many mm."""
SHORT = 2.0
"""Stress-day equivalents that count as running short. [d]"""


@dataclass(frozen=True, slots=True)
class Season:
    """What one season came to."""

    days: list[TraceDay]

    @property
    def reach(self) -> float:
        """Share of the rooted soil that the held roots came to reach. [0-1]"""
        return self.days[-1].held.reach

    @property
    def stress(self) -> tuple[float, float]:
        """Stress-day equivalents of held and of free roots. [d]"""
        return self.days[-1].held.stress_days, self.days[-1].free.stress_days

    @property
    def short(self) -> tuple[float, float]:
        """Day on which held and free roots run short, infinite where they do not."""
        found = [
            float(onset(np.array([[getattr(day, twin).stress] for day in self.days]), SHORT)[0])
            for twin in ("held", "free")
        ]
        held, free = (float("inf") if day >= NEVER else day for day in found)
        return held, free

    @property
    def ahead(self) -> float:
        """How many days sooner the held roots run short; infinite where free roots do not. [d]"""
        held, free = self.short
        return 0.0 if held == free else free - held


def weather(spring: Rain, summer: Rain) -> DailyWeather:
    """A year whose spring and summer differ in their rain only; alike before planting."""
    start = PLANTED - timedelta(days=BEFORE)
    of_year = np.array([(start + timedelta(days=i)).timetuple().tm_yday for i in range(DAYS)])
    mean = 9.0 + 15.0 * np.cos(2.0 * np.pi * (of_year - 201) / 365.25)
    rain = np.zeros(DAYS)
    for i in range(DAYS):
        late = summer if i >= BEFORE + SPRING else spring
        every, amount = BEFORE_PLANTING if i < BEFORE else late
        rain[i] = amount if i % every == 0 else 0.0
    return DailyWeather(start=start, tmax_c=mean + 6.0, tmin_c=mean - 6.0, rain_mm=rain)


def season(spring: Rain, summer: Rain, wall: int = 2) -> Season:
    """The same field and the same dig under one weather.

    Parameters
    ----------
    spring, summer
        Rain before and after about V10.
    wall
        Wall class that the dig found.
    """
    soil = soil_from_texture("silt loam")
    digs = (Dig(PLANTED + timedelta(days=25), wall),)
    field = FieldSeason(LAT, ELEVATION_M, PLANTED, soil, digs=digs)
    return Season(run_trace(field, cell_demand(weather(spring, summer), LAT, ELEVATION_M)))
