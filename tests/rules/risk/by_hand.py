"""Outlooks made by hand: nothing is short but what a test says."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from rootbound_rules.season.outlook import Outlook
from rootbound_rules.season.plan import make_plan
from rootbound_rules.season.run import Run
from rules.season import plausible

DAYS, MEMBERS = 290, 10
TODAY = 200
PLAN = make_plan(plausible.plain_field())
"""Planted on day 90 of the arrays."""
HEAT_A_DAY = 20.0
NOTHING = np.zeros(0, np.float32)
RUN = Run(*(NOTHING,) * 6, plant_day=90, days=DAYS, held=False, members=MEMBERS)
"""Nothing is computed again here."""


def outlook(free=0.0, held=0.0):
    """An outlook in which nothing is short but what is given, as (days, members) or a number."""
    still = np.zeros((DAYS, MEMBERS), np.float32)
    since = np.clip(np.arange(DAYS) - PLAN.plant_day, 0, None) * HEAT_A_DAY
    return Outlook(
        plan=PLAN,
        run=RUN,
        known_through=PLAN.first + timedelta(days=TODAY - 1),
        years=tuple(range(2020, 2020 - MEMBERS, -1)),
        gdd_f=np.repeat(since[:, None], MEMBERS, axis=1),
        rain_mm=still,
        free_stress=still + free,
        held_stress=still + held,
        free_water=still + 80.0,
        held_water=still + np.arange(MEMBERS, dtype=np.float32),
        reach=still + 0.5,
    )


def stress(days, amount, members=MEMBERS):
    """Stress on some days of the first members."""
    made = np.zeros((DAYS, MEMBERS), np.float32)
    made[days, :members] = amount
    return made
