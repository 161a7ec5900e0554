"""Invented weather of some years, dry in those that are named, and seasons made by hand."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np

from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.kernel import demand_loop
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture
from rootbound_service.replay.values import Came, Night, Played, Said

LAT, ELEVATION_M = 42.0, 300.0
FIRST, YEARS = 2000, 5
"""Of the usual weather."""
DRY = (2004,)
FIELD = FieldSeason(LAT, ELEVATION_M, date(2004, 5, 5), soil_from_texture("sandy loam"))
DUG = replace(FIELD, digs=(Dig(date(2004, 6, 1), 2),))


@cache
def weather(first: int = FIRST, years: int = YEARS, dry: Collection[int] = DRY) -> DailyWeather:
    """Days of whole years: rain every fourth day, none from 1 June to 31 August of dry ones."""
    start = date(first, 1, 1)
    days = [start + timedelta(days=k) for k in range((date(first + years, 1, 1) - start).days)]
    rng = np.random.default_rng(first)
    doy = np.array([day.timetuple().tm_yday for day in days])
    mean = 9.0 + 15.0 * np.cos(2.0 * np.pi * (doy - 201) / 365.25) + rng.normal(0.0, 2.0, len(days))
    rain = np.where(np.arange(len(days)) % 4 == 0, rng.gamma(2.0, 9.0, len(days)), 0.0)
    parched = np.array([day.year in dry and 6 <= day.month <= 8 for day in days])
    return DailyWeather(start, mean + 6.5, mean - 6.5, np.where(parched, 0.0, rain))


def demand(days: DailyWeather | None = None) -> Demand:
    """The usual place's days in the terms of the daily step."""
    return cell_demand(days or weather(), LAT, ELEVATION_M, loop=demand_loop)


def changed(days: DailyWeather, after: date, rain_mm: float = 0.0) -> DailyWeather:
    """The same weather to a day, and quite another one after it."""
    at = (after - days.start).days + 1
    known = np.arange(len(days)) < at
    return replace(
        days,
        rain_mm=np.where(known, days.rain_mm, rain_mm),
        tmax_c=np.where(known, days.tmax_c, 38.0),
        tmin_c=np.where(known, days.tmin_c, 21.0),
    )


def said(rung: int, chance_14: float = 0.0, note: int | None = None) -> Said:
    """What one twin was said to be on a night."""
    return Said(rung, rung, chance_14, chance_14 / 2.0, 30.0, note, "by hand")


def night(when: date, held: Said, free: Said | None = None, **others: object) -> Night:
    """A night by hand; free roots stay at ample unless they are given."""
    usual = Night(
        when, "V12", True, False, free or said(0), held, "days", 6.0, 2.0, 12.0, 0.6, 12
    )  # fmt: skip
    return replace(usual, **others)


def came(stress: dict[date, float], weighted: float = 0.0) -> Came:
    """What came, by hand: the onset is the day on which the sum passes 2."""
    total, onset = 0.0, None
    for day, amount in stress.items():
        total += amount
        onset = day if onset is None and total > 2.0 else onset
    return Came(stress, {}, total, weighted, {"R1": total}, onset, {})


def played(
    year: int,
    rungs: dict[date, int],
    held: Came,
    free: Came | None = None,
    wall_class: int | None = 2,
    rain_mm: float = 300.0,
) -> Played:
    """A season by hand: a night for each rung, a note wherever it rises."""
    before, nights = 0, []
    for when, rung in rungs.items():
        note = rung if rung > before else None
        nights.append(night(when, said(rung, 0.2 * rung, note)))
        before = rung
    season = replace(FIELD, planted=date(year, 5, 5))
    digs = () if wall_class is None else (Dig(date(year, 6, 1), wall_class),)
    return Played(
        "By Hand", replace(season, digs=digs), wall_class, tuple(nights), free or came({}), held,
        {}, rain_mm,
    )  # fmt: skip


def from_july(year: int, *rungs: int) -> dict[date, int]:
    """Rungs night by night from 1 July on."""
    return {date(year, 7, 1) + timedelta(days=k): rung for k, rung in enumerate(rungs)}
