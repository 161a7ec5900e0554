"""Roots that grew free: when it may be said, and when another dig takes it back."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from rootbound_rules.crop.stages import gdd_at_collar
from rootbound_rules.risk.growing_free import grown_free, held_again
from rootbound_rules.season.plan import make_plan
from rules.season import plausible

PLAN = make_plan(plausible.plain_field())
HEAT_A_DAY, MEMBERS, DAYS = 20.0, 10, 290


def day_of(collar):
    """First day on which a collar shows, as a position in the arrays."""
    rates = (PLAN.emergence, PLAN.collar_early, PLAN.collar_late, PLAN.collar_turn)
    return PLAN.plant_day + int(np.ceil(gdd_at_collar(collar, *rates) / HEAT_A_DAY))


V4, V10 = day_of(4), day_of(10)
NIGHT = V10 + 20


def outlook(*spells):
    """An outlook whose reach is whole but for spells of (first day, end, reach)."""
    reach = np.ones((DAYS, MEMBERS), np.float32)
    for first, end, value in spells:
        reach[first:end] = value
    since = np.clip(np.arange(DAYS) - PLAN.plant_day, 0, None) * HEAT_A_DAY
    return SimpleNamespace(
        plan=PLAN,
        gdd_f=np.repeat(since[:, None], MEMBERS, axis=1),
        reach=reach,
        day=lambda day: (day - PLAN.first).days,
    )


def free(made, night=NIGHT, rung=0, free_rung=0):
    return grown_free(made, PLAN.first + timedelta(days=night), rung, free_rung)


def members(share, value=0.95, others=0.85):
    """Reach of a day on which some members have one value and the others another."""
    return np.where(np.arange(MEMBERS) < share * MEMBERS, value, others)


HELD_ONCE = (V4 + 2, V4 + 8, 0.5)


def test_a_field_that_was_held_and_now_reaches_nearly_everything_has_grown_free():
    assert free(outlook(HELD_ONCE))


def test_a_field_that_never_was_badly_held_has_nothing_to_grow_out_of():
    assert not free(outlook())
    assert not free(outlook((V4, V4 + 8, 0.71)))


def test_the_first_leaves_do_not_count_as_having_been_held():
    assert not free(outlook((PLAN.plant_day, V4, 0.3)))


def test_nothing_is_said_before_the_free_roots_have_come_to_the_row_middle():
    made = outlook(HELD_ONCE)
    assert not free(made, night=V10)  # yesterday was before V10
    assert free(made, night=V10 + 1)


@pytest.mark.parametrize(("share", "said"), [(0.7, False), (0.8, True), (1.0, True)])
def test_most_members_must_agree(share, said):
    assert free(outlook(HELD_ONCE, (V10, DAYS, members(share)))) is said


@pytest.mark.parametrize(("reach", "said"), [(0.89, False), (0.91, True)])
def test_nearly_everything_is_nine_tenths(reach, said):
    assert free(outlook(HELD_ONCE, (V10, DAYS, reach))) is said


def test_nothing_good_is_said_while_held_roots_stand_on_another_rung():
    made = outlook(HELD_ONCE)
    assert not free(made, rung=2, free_rung=1)
    assert not free(made, rung=1, free_rung=2)
    assert free(made, rung=2, free_rung=2)  # the drought is general


def test_the_outlooks_coming_days_do_not_count_as_past():
    assert not free(outlook((NIGHT, DAYS, 0.3)))


@pytest.mark.parametrize(("reach", "held"), [(0.69, True), (0.71, False), (0.95, False)])
def test_roots_are_held_again_where_the_median_reach_is_small_again(reach, held):
    made = outlook((V10, DAYS, reach))
    assert held_again(made, PLAN.first + timedelta(days=NIGHT)) is held
