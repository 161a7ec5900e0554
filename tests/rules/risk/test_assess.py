"""From an outlook made by hand to what may be said tonight."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from rootbound_rules.risk.assess import assess
from rules.risk.by_hand import DAYS, HEAT_A_DAY, MEMBERS, PLAN, TODAY, outlook, stress


def look(made, day=TODAY):
    return assess(made, PLAN.first + timedelta(days=day))


def test_a_field_without_stress_reads_no_chance_of_anything():
    told = look(outlook())
    for reading in (told.held, told.free):
        chances = (
            reading.chance_14,
            reading.chance_7,
            reading.chance_short,
            reading.chance_failing,
        )
        assert chances == (0.0, 0.0, 0.0, 0.0)
    assert told.ahead.kind == "neither"
    assert (told.stress_past_7, told.stress_season) == (0.0, 0.0)


def test_chances_are_shares_of_the_members_that_reach_each_rungs_stress():
    coming = slice(TODAY, TODAY + 7)
    told = look(outlook(held=stress(coming, 1.5 / 7 + 1e-4, members=4)))
    assert (told.held.chance_7, told.held.chance_14) == pytest.approx((0.4, 0.4))
    assert told.held.chance_short == 0.0
    assert told.free.chance_7 == 0.0


def test_stress_of_the_second_week_counts_for_fourteen_days_only():
    told = look(outlook(held=stress(slice(TODAY + 7, TODAY + 14), 0.3)))
    assert (told.held.chance_7, told.held.chance_14) == (0.0, 1.0)


def test_past_days_count_up_to_yesterday_and_not_today():
    before = look(outlook(held=stress(slice(TODAY - 3, TODAY), 0.5)))
    today = look(outlook(held=stress(slice(TODAY, TODAY + 1), 0.5)))
    assert before.held.chance_short == 1.0
    assert today.held.chance_short == 0.0
    assert before.stress_past_7 == pytest.approx(1.5)


def test_a_week_of_bad_days_is_failing():
    told = look(outlook(held=stress(slice(TODAY - 7, TODAY), 0.4)))
    assert told.held.chance_failing == 1.0


def test_days_ahead_are_those_between_the_onsets_of_the_twins():
    held = stress(slice(150, DAYS), 0.5)
    free = stress(slice(162, DAYS), 0.5)
    ahead = look(outlook(free=free, held=held)).ahead
    assert (ahead.kind, ahead.median, ahead.low, ahead.high) == ("days", 12.0, 12.0, 12.0)
    assert look(outlook(held=held)).ahead.kind == "free_would_not"


def test_stage_and_heat_are_those_of_yesterday():
    told = look(outlook(), day=PLAN.plant_day + 11)
    assert told.gdd_f_total == 10 * HEAT_A_DAY
    assert told.stage == "V1"
    assert told.emerged


def test_the_critical_window_opens_fourteen_days_before_silk_and_closes_twenty_one_after():
    silk = PLAN.plant_day + int(np.ceil(PLAN.stages.silk / HEAT_A_DAY))
    open_on = [d for d in range(silk - 40, silk + 40) if look(outlook(), day=d).critical]
    assert open_on == list(range(silk - 14, silk + 22))
    assert look(outlook(), day=silk).days_to_silk == 0


def test_dent_ends_failing_and_black_layer_ends_the_season():
    dent = PLAN.plant_day + int(np.ceil(PLAN.stages.r5 / HEAT_A_DAY)) + 1
    assert look(outlook(), day=dent).held.past_r4
    assert not look(outlook(), day=dent - 1).held.past_r4
    ripe = PLAN.plant_day + int(np.ceil(PLAN.maturity / HEAT_A_DAY)) + 1
    assert look(outlook(), day=ripe).mature
    assert not look(outlook(), day=ripe - 1).mature


def test_water_is_the_median_of_the_members_yesterday():
    told = look(outlook())
    assert (told.water_in_reach_mm, told.free_water_mm, told.reach) == (4.5, 80.0, 0.5)
    assert told.members == MEMBERS


def test_water_that_is_only_foreseen_is_not_yet_in_the_soil():
    """Known through three days ago; rain is forecast for the days between."""
    made = outlook()
    water = np.zeros_like(made.held_water)
    water[TODAY - 2 :] = 50.0
    late = replace(made, held_water=water, known_through=PLAN.first + timedelta(days=TODAY - 3))

    assert look(late).held.dry
    assert not look(replace(late, known_through=PLAN.first + timedelta(days=TODAY - 1))).held.dry


@pytest.mark.parametrize("day", [-20, 0, 1, DAYS - 1, DAYS, DAYS + 30])
def test_a_day_before_or_after_the_arrays_is_no_stress_or_no_exception(day):
    made = outlook(held=stress(slice(0, DAYS), 0.9))
    if day > DAYS:
        with pytest.raises((IndexError, ValueError)):
            look(made, day=day)
        return
    told = look(made, day=day)
    assert 0.0 <= told.held.chance_14 <= 1.0


def test_a_season_too_cold_to_silk_is_never_critical():
    cold = replace(outlook(), gdd_f=np.zeros((DAYS, MEMBERS)))
    told = look(cold)
    assert told.days_to_silk is None
    assert not told.critical
    assert not told.emerged
