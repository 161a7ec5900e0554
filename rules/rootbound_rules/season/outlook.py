"""What the coming weeks may bring one field: known days, then every past year in turn.

This is the ensemble method hydrologists use for streamflow: each past year of the cell's
own weather is one member, and each member carries one draw of what is uncertain.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.errors import RulesError
from rootbound_rules.season.demand import GAP
from rootbound_rules.season.layout import Out, Wx
from rootbound_rules.season.members import DIMENSIONS, draw_members, share_out, sobol_points
from rootbound_rules.season.pack import (
    known_days,
    out_of_blocks,
    pack_field,
    pack_weather,
    same_day,
)
from rootbound_rules.season.plan import is_held, make_plan, plan_digs
from rootbound_rules.season.run import Run
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.plan import OfHybrid, Plan
    from rootbound_rules.season.values import FieldSeason

Cube = NDArray[np.float32]
MOST_MISSING_DAYS = 14
"""Of a past year that serves as a member. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """Both twins of one field over all members, from the first simulated day to the last.

    Arrays have shape (days, members) and begin on ``plan.first``.
    """

    plan: Plan
    run: Run
    """What was computed, so that it can be computed again with more rain."""
    known_through: date
    years: tuple[int, ...]
    gdd_f: NDArray[np.float64]
    """Heat units since planting. [degF d]"""
    rain_mm: NDArray[np.float64]
    free_stress: Cube
    held_stress: Cube
    free_water: Cube
    held_water: Cube
    reach: Cube

    def day(self, day: date) -> int:
        """Position of a day in the arrays."""
        return (day - self.plan.first).days

    def date(self, index: int) -> date:
        """Date of a position."""
        return self.plan.first + timedelta(days=index)


def past_years(demand: Demand, season: FieldSeason, most: int = 30) -> list[int]:
    """Years before the season whose weather the cell has, newest first.

    A year with more than a fortnight of missing days is no member: missing rain counts as
    none, so that it would be a drought which never was.

    Parameters
    ----------
    demand
        The cell's days.
    season
        The field; members must cover its season.
    most
        How many at the most.
    """
    rows = load_table("season")
    longest, spinup = int(rows.number("longest_days")), int(rows.number("spinup_days"))
    whole = _whole_years(season.planted, demand.start, len(demand), longest, spinup)
    gap = (demand.made & GAP).astype(bool)
    if not gap.any():
        return [year for year, _, _ in whole][:most]
    missing = np.concatenate(([0], np.cumsum(gap)))
    years = [
        year
        for year, first, last in whole
        if missing[last + 1] - missing[first] <= MOST_MISSING_DAYS
    ]
    return years[:most]


@lru_cache(maxsize=1024)  # neighbours are planted on a few days and share their cells' span
def _whole_years(
    planted: date, start: date, days: int, longest: int, spinup: int
) -> tuple[tuple[int, int, int], ...]:
    """Years whose season lies within a cell's days, newest first, with its first and last day."""
    found: list[tuple[int, int, int]] = []
    for year in range(planted.year - 1, start.year - 1, -1):
        begin = (same_day(planted, planted.year, year) - start).days
        first, last = begin - spinup, begin + longest
        if first >= 0 and last < days:
            found.append((year, first, last))
    return tuple(found)


def look_out(
    season: FieldSeason,
    demand: Demand,
    known_through: date,
    seed: int,
    years: list[int] | None = None,
    *,
    coming: ComingDays | None = None,
    points: NDArray[np.float64] | None = None,
) -> Outlook:
    """Compute both twins for every member.

    A member is the known days, one trace of the forecast, then one past year, under one draw
    of everything uncertain.

    Parameters
    ----------
    season
        The field, its soil, crop and digs so far.
    demand
        The cell's days, past years included.
    known_through
        Last day of real weather.
    seed
        Of the draws; the same seed gives the same outlook on any machine.
    years
        Past years to use as members; None for the last 30.
    coming
        Forecast days after ``known_through``; its traces are shared out evenly.
    points
        Positions of the members' draws, shape (members, 9), where observations have moved
        them; None for those of the seed. [0-1]

    Returns
    -------
    Outlook
        Up to ``longest_days`` after planting.

    Raises
    ------
    RulesError
        If the cell has no past year to serve as a member, or no spin-up before planting; if
        the forecast leaves a gap, or the draws are not one a member.
    """
    plan = plan_within(season, demand)
    chosen = past_years(demand, season) if years is None else years
    if not chosen:
        raise RulesError("the cell has no past year of weather: no outlook yet")
    days = days_of(plan)
    if points is None:
        points = sobol_points(len(chosen), seed)
    elif points.shape != (len(chosen), DIMENSIONS):
        wanted = (len(chosen), DIMENSIONS)
        raise RulesError(f"draws of shape {points.shape} for the members, wanted {wanted}")
    packed = pack_field(season, plan, draw_members(season.soil, points, season.crop), points[:, 6])
    shared = None if coming is None else (coming, share_out(coming.traces, len(chosen), seed))
    weather = pack_weather(demand, plan, known_through, days, chosen, shared)
    run = Run(
        field=packed.field,
        params=packed.params,
        digs=packed.digs,
        counts=packed.counts,
        weather=weather,
        irrigation=irrigation_of(demand, plan.first, known_through, days),
        plant_day=plan.plant_day,
        days=days,
        held=is_held(plan_digs(season, plan.first), plan.class0),
        members=len(chosen),
    )
    cube = run.play()
    gdd, rain = _heat_and_rain(weather, days, len(chosen), plan.plant_day)
    return Outlook(
        plan=plan,
        run=run,
        known_through=known_through,
        years=tuple(chosen),
        gdd_f=gdd,
        rain_mm=rain,
        free_stress=cube[:, Out.FREE_STRESS],
        held_stress=cube[:, Out.HELD_STRESS],
        free_water=cube[:, Out.FREE_WATER],
        held_water=cube[:, Out.HELD_WATER],
        reach=cube[:, Out.REACH],
    )


def plan_within(season: FieldSeason, demand: Demand, hybrid: OfHybrid | None = None) -> Plan:
    """Plan a season within the days of its cell.

    Parameters
    ----------
    season
        The field.
    demand
        The cell's days; where they begin late, the spin-up is shorter.
    hybrid
        What the season has in common with others, where it is known.

    Raises
    ------
    RulesError
        If there is no spin-up before planting.
    """
    plan = make_plan(season, hybrid=hybrid)
    if plan.first < demand.start:
        plan = make_plan(season, demand.start, hybrid)
    if plan.planted <= plan.first:
        raise RulesError(f"the cell's weather begins on {demand.start}, not before planting")
    return plan


def days_of(plan: Plan) -> int:
    """Count the days that a planned season is simulated for."""
    return plan.plant_day + int(load_table("season").number("longest_days"))


def irrigation_of(demand: Demand, first: date, known_through: date, days: int) -> Cube:
    """Give the irrigation so far, shape (days,); none is assumed for the days to come. [mm]

    Parameters
    ----------
    demand
        The field's own days.
    first, known_through
        First simulated day, and last day of real weather.
    days
        Days to simulate.
    """
    given = np.zeros(days, np.float32)
    known = known_days(first, known_through, days)
    begin = demand.index(first)
    given[:known] = demand.irrigation_mm[begin : begin + known]
    return given


def _heat_and_rain(
    weather: Cube, days: int, members: int, plant_day: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Heat units since planting and rain, each (days, members)."""
    cube = out_of_blocks(weather, days, members, len(Wx))
    since = (cube[:, Wx.GDD] - cube[plant_day, Wx.GDD]).astype(np.float64)
    since[:plant_day] = 0.0
    return since, cube[:, Wx.RAIN].astype(np.float64)
