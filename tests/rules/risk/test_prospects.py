"""What the outlook promises: onset by day, water by day, stress by stage, worst rungs."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from rootbound_rules.risk.prospects import prospects
from rootbound_rules.tables import load_table
from rules.risk.by_hand import DAYS, HEAT_A_DAY, MEMBERS, PLAN, TODAY, outlook, stress

SHORT_OF = load_table("ladder")
DAY = PLAN.first + timedelta(days=TODAY)
V12 = PLAN.plant_day + int(np.ceil(PLAN.stages.at_collar(12.0) / HEAT_A_DAY)) + 1
V8 = PLAN.plant_day + int(np.ceil(PLAN.stages.at_collar(8.0) / HEAT_A_DAY)) + 1
R5 = PLAN.plant_day + int(np.ceil(PLAN.stages.r5 / HEAT_A_DAY)) + 1

SEASONS = arrays(np.float32, (DAYS, MEMBERS), elements=st.sampled_from([0.0, 0.0, 0.1, 0.5, 1.0]))


def on(made, index=TODAY):
    return prospects(made, PLAN.first + timedelta(days=index))


@given(SEASONS, st.integers(0, DAYS - 1))
def test_chances_of_onset_rise_with_the_days_and_worst_rungs_add_up(held, index):
    told = on(outlook(held=held), index)
    assert (np.diff(told.held_onset_by) >= 0.0).all()
    assert told.held_onset_by[-1] == pytest.approx(told.held_chance)
    assert sum(told.held_rungs) == pytest.approx(1.0)
    assert sum(told.free_rungs) == pytest.approx(1.0)
    assert len(told.days) == told.held_water.shape[1] == DAYS - index


@given(SEASONS)
def test_water_and_onset_keep_their_order(held):
    told = on(outlook(held=held))
    assert (np.diff(told.held_water, axis=0) >= 0.0).all()
    if told.held_onset is not None:
        last = told.held_onset.last or told.days[-1]
        assert told.held_onset.first <= told.held_onset.middle
        assert told.held_onset.last is None or told.held_onset.middle <= last
    assert (told.held_onset is None) == (np.median(_passed(held)) < 1.0)


def _passed(held):
    """One where a member runs short; at a half, the middle one decides."""
    total = held.sum(axis=0, dtype=np.float64) > SHORT_OF.number("onset_days")
    return np.where(total, 1.0, 0.0)


def test_onset_falls_on_the_day_whose_stress_passes_the_mark():
    mark = SHORT_OF.number("onset_days")
    at = TODAY + 10
    told = on(outlook(held=stress(at, mark + 0.5)))
    assert told.held_onset is not None
    assert (told.held_onset.first, told.held_onset.last) == (DAY + timedelta(days=10),) * 2
    assert told.held_onset_by[9] == 0.0
    assert told.held_onset_by[10] == 1.0
    assert told.free_onset is None
    assert told.free_chance == 0.0


def test_where_some_members_never_run_short_the_range_has_no_end():
    told = on(outlook(held=stress(TODAY + 5, 3.0, members=7)))
    assert told.held_onset is not None
    assert told.held_onset.last is None
    assert told.held_chance == pytest.approx(0.7)


def test_stress_is_told_by_the_stage_it_falls_in_and_parts_at_today():
    made = stress(TODAY - 1, 0.5) + stress(TODAY, 0.75)
    told = on(outlook(held=made))
    before = PLAN.stages.name((TODAY - 1 - PLAN.plant_day) * HEAT_A_DAY)
    by_name = {one.stage: one for one in told.stages}
    assert by_name[before].held_past == pytest.approx(0.5)
    assert sum(one.held_past for one in told.stages) == pytest.approx(0.5)
    assert sum(one.held_coming[1] for one in told.stages) == pytest.approx(0.75)
    assert all(one.free_past == one.free_coming[2] == 0.0 for one in told.stages)


def test_a_season_without_stress_has_no_stage_to_tell_of_and_only_ample_members():
    told = on(outlook())
    assert told.stages == ()
    assert told.held_rungs == (1.0, 0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(("days", "rung"), [(14, 1), (7, 2)])
def test_a_member_whose_coming_days_just_reach_a_mark_is_on_that_rung(days, rung):
    name = {1: "drawing_down", 2: "tight"}[rung]
    mark = SHORT_OF.number(f"{name}.stress")
    made = stress(slice(V12, V12 + days), np.float32(mark / days + 1e-4), members=4)
    told = prospects(outlook(held=made), PLAN.first + timedelta(days=V12 - 13))
    wanted = [0.6, 0.0, 0.0, 0.0, 0.0]
    wanted[rung] = 0.4
    assert told.held_rungs == pytest.approx(tuple(wanted))


def test_a_young_crop_outgrows_three_bad_days_and_an_older_one_is_short():
    young, old = (
        prospects(outlook(held=stress(slice(day - 3, day), 0.2)), PLAN.first + timedelta(days=day))
        for day in (V8, V12)
    )
    assert young.held_rungs[3] == 0.0
    assert old.held_rungs[3] == 1.0


def test_failing_needs_twelve_collars_and_ends_with_dent():
    def share(day):
        made = stress(slice(day - 7, day), 0.5)
        return prospects(outlook(held=made), PLAN.first + timedelta(days=day)).held_rungs[4]

    assert share(V12 + 2) == 1.0
    assert share(R5 + 1) == 0.0
