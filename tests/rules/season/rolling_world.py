"""An invented world in which the truth is one draw and people report its leaves.

Weather, soils and digs are made up. The truth of a season is one point of the same prior,
drawn at random and not from the filter's own draws; its leaves roll by its own stress, and
one report in ten says the contrary.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache

import numpy as np

from rootbound_rules.season.belief import Report
from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.kernel import demand_loop
from rootbound_rules.season.layout import Out
from rootbound_rules.season.members import DIMENSIONS, draw_members
from rootbound_rules.season.pack import pack_field, pack_weather
from rootbound_rules.season.plan import is_held, make_plan, plan_digs
from rootbound_rules.season.run import Run
from rootbound_rules.season.values import Dig, FieldSeason
from rules.season import plausible

FIRST_YEAR, LAST_YEAR = 2000, 2012
WRONG = 0.10
ROLLS_AT, ROLLS_OVER = 0.10, 0.03
"""Stress at which half of the true crops roll, and how fast: the world's own numbers."""


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One season: what the filter may know, and what it may not."""

    season: FieldSeason
    demand: Demand
    known: date
    reports: tuple[Report, ...]
    years: list[int]
    true_water: float
    true_stress: float


@cache
def _cell(number: int) -> Demand:
    days = (date(LAST_YEAR, 12, 31) - date(FIRST_YEAR, 1, 1)).days + 1
    rng = np.random.default_rng([81, number])
    sky = plausible.weather(rng, date(FIRST_YEAR, 1, 1), days, 0.36 + 0.06 * number)
    return cell_demand(sky, plausible.LAT, plausible.ELEVATION_M, loop=demand_loop)


def case(number: int, every: int = 4, wrong: float = WRONG) -> Case:
    """One season of the world; ``every`` is the days between reports."""
    rng = np.random.default_rng([82, number])
    demand = _cell(number % 4)
    year = int(rng.integers(FIRST_YEAR + 1, LAST_YEAR + 1))
    planted = date(year, 5, 1) + timedelta(days=int(rng.integers(-7, 15)))
    known = planted + timedelta(days=int(rng.integers(60, 96)))
    counted = {"plants": 5, "crossing": int(rng.integers(1, 15)), "held": int(rng.integers(3, 25))}
    dig = Dig(planted + timedelta(days=30), int(rng.integers(1, 4)), **counted)
    soil = str(rng.choice(["sandy loam", "loam", "silt loam", "silty clay loam"]))
    season = replace(plausible.plain_field(soil, (dig,)), planted=planted)
    years = [one for one in range(FIRST_YEAR + 1, LAST_YEAR) if one != year]
    stress, water = _truth(season, demand, known, rng)
    last = (known - make_plan(season).first).days
    reports = []
    for back in range(0, 36, every):
        rolls = rng.random() < 1.0 / (1.0 + np.exp(-(stress[last - back] - ROLLS_AT) / ROLLS_OVER))
        said = bool(rolls) != bool(rng.random() < wrong)
        reports.append(Report(known - timedelta(days=back), said))
    seven = float(stress[last - 6 : last + 1].sum())
    return Case(season, demand, known, tuple(reports), years, float(water[last]), seven)


def _truth(season, demand, known, rng):
    """Stress and water of the crop as it stands, by day, of one random point."""
    plan, point = make_plan(season), rng.uniform(size=(1, DIMENSIONS))
    days = (known - plan.first).days + 60
    packed = pack_field(season, plan, draw_members(season.soil, point), point[:, 6])
    run = Run(
        field=packed.field,
        params=packed.params,
        digs=packed.digs,
        counts=packed.counts,
        weather=pack_weather(demand, plan, known, days, [FIRST_YEAR + 1]),
        irrigation=np.zeros(days, np.float32),
        plant_day=plan.plant_day,
        days=days,
        held=is_held(plan_digs(season, plan.first), plan.class0),
        members=1,
    )
    cube = run.play()
    return cube[:, Out.HELD_STRESS, 0], cube[:, Out.HELD_WATER, 0]
