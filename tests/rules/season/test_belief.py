"""Reports of rolled leaves move belief the right way, and only where they can."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.errors import RulesError
from rootbound_rules.season.belief import Belief, Report, Unused, believe
from rootbound_rules.season.members import DIMENSIONS, sobol_points
from rootbound_rules.season.outlook import look_out
from rootbound_rules.tables import load_table
from rules.season.rolling_world import case

MEMBERS, SEED = 30, 7
CASE = case(43)
OPEN = CASE.known
"""A day on which some draws are stressed and some are not."""


@cache
def heard(*reports: Report) -> Belief:
    return believe(CASE.season, CASE.demand, CASE.known, SEED, reports, MEMBERS, CASE.years)


def days_back(days: int, *, rolled: bool) -> Report:
    return Report(OPEN - timedelta(days=days), rolled)


def moved(belief: Belief, name: str):
    return next(one for one in belief.moved if one.name == name)


def test_the_case_of_these_tests_is_open():
    (used,) = heard(days_back(0, rolled=True)).used

    assert 0.25 < used.expected < 0.75


def test_without_reports_the_members_are_those_of_the_plain_outlook():
    belief = heard()

    assert np.array_equal(belief.points, sobol_points(MEMBERS, SEED))
    assert (belief.used, belief.ignored, belief.moved, belief.thin) == ((), (), (), False)


def test_rolled_leaves_mean_more_stress_and_unrolled_ones_less():
    yes, no = (moved(heard(days_back(0, rolled=said)), "stress") for said in (True, False))

    assert yes.before == no.before
    assert yes.after[2] > yes.before[2] > no.after[2]
    assert yes.after[1] > yes.before[1] >= no.after[1]


def test_rolled_leaves_mean_no_more_water_in_reach_and_unrolled_ones_no_less():
    yes, no = (moved(heard(days_back(0, rolled=said)), "water") for said in (True, False))

    assert yes.after[2] <= yes.before[2] <= no.after[2]


def test_the_members_chosen_stand_for_the_weighted_draws():
    belief = heard(*(days_back(days, rolled=True) for days in (0, 6, 12)))
    years = [CASE.years[m % len(CASE.years)] for m in range(MEMBERS)]
    plain = look_out(CASE.season, CASE.demand, CASE.known, SEED, years)
    outlook = look_out(CASE.season, CASE.demand, CASE.known, SEED, years, points=belief.points)
    last = outlook.day(CASE.known)
    stress = outlook.held_stress[last - 6 : last + 1].sum(axis=0)
    was = plain.held_stress[last - 6 : last + 1].sum(axis=0)
    after = moved(belief, "stress").after

    assert belief.points.shape == (MEMBERS, DIMENSIONS)
    assert np.median(stress) == pytest.approx(after[1], abs=0.15)
    assert np.median(stress) > np.median(was)


def test_a_report_of_what_every_draw_expects_leaves_the_members_alone():
    dry = case(9)
    report = Report(dry.known, rolled=True)
    belief = believe(dry.season, dry.demand, dry.known, SEED, [report], MEMBERS, dry.years)

    assert belief.used[0].expected > 0.85
    assert np.array_equal(belief.points, sobol_points(MEMBERS, SEED))
    assert moved(belief, "stress").after == pytest.approx(moved(belief, "stress").before, abs=0.05)


def test_one_report_cannot_outweigh_the_weather_by_more_than_nine_to_one():
    belief = heard(days_back(0, rolled=True))
    assert belief.effective > belief.draws / 9.0


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (3, 2, 1, 0), (2, 0, 3, 1)])
def test_the_order_in_which_reports_came_in_changes_no_digit(order):
    reports = [
        days_back(0, rolled=True),
        days_back(0, rolled=False),
        days_back(3, rolled=True),
        days_back(9, rolled=False),
    ]
    one, two = heard(*reports), heard(*(reports[n] for n in order))

    assert np.array_equal(one.points, two.points)
    assert one.told() == two.told()


said = st.lists(st.tuples(st.integers(0, 30), st.booleans()), min_size=1, max_size=6)


@settings(max_examples=15, deadline=None)
@given(said, st.randoms(use_true_random=False))
def test_any_reports_in_any_order_give_one_sound_belief(told, chance):
    reports = [days_back(days, rolled=rolled) for days, rolled in told]
    shuffled = reports.copy()
    chance.shuffle(shuffled)
    one, two = heard(*reports), heard(*shuffled)

    assert np.array_equal(one.points, two.points)
    assert one.told() == two.told()
    assert ((one.points > 0.0) & (one.points < 1.0)).all()
    assert 1.0 <= one.effective <= one.draws + 1e-6
    assert len(one.used) + len(one.ignored) == len(reports)
    assert all(low <= mid <= high for low, mid, high in (row.after for row in one.moved))


def test_the_same_thing_said_three_times_in_a_day_counts_as_once():
    once, thrice = heard(days_back(0, rolled=True)), heard(*[days_back(0, rolled=True)] * 3)

    assert thrice.effective == pytest.approx(once.effective)
    assert sum(used.counts for used in thrice.used) == pytest.approx(1.0)


def test_contradicting_reports_of_a_day_are_both_heard_and_move_little():
    both = heard(days_back(0, rolled=True), days_back(0, rolled=False))

    assert len(both.used) == 2
    assert both.effective > heard(days_back(0, rolled=True)).effective


@pytest.mark.parametrize(
    ("day", "why"),
    [
        (CASE.known + timedelta(days=1), Unused.NOT_KNOWN_YET),
        (CASE.season.planted + timedelta(days=20), Unused.BEFORE_COUNTED),
        (CASE.season.planted - timedelta(days=5), Unused.BEFORE_COUNTED),
        (CASE.season.planted - timedelta(days=500), Unused.BEFORE_COUNTED),
    ],
)
def test_a_report_that_cannot_weigh_is_kept_with_its_reason(day, why):
    belief = heard(Report(day, rolled=True))

    assert [(one.report.day, one.why) for one in belief.ignored] == [(day, why)]
    assert belief.used == ()
    assert np.array_equal(belief.points, sobol_points(MEMBERS, SEED))


def test_a_report_after_black_layer_says_nothing():
    known = CASE.season.planted + timedelta(days=190)
    report = Report(known, rolled=True)
    belief = believe(CASE.season, CASE.demand, known, SEED, [report], MEMBERS, CASE.years)

    assert [one.why for one in belief.ignored] == [Unused.MATURE]


def test_a_crop_whose_rolling_has_no_source_is_left_as_it_is():
    beans = replace(CASE.season, crop="soybean")
    belief = believe(
        beans, CASE.demand, CASE.known, SEED, [days_back(0, rolled=True)], MEMBERS, CASE.years
    )

    assert [one.why for one in belief.ignored] == [Unused.OTHER_CROP]
    assert np.array_equal(belief.points, sobol_points(MEMBERS, SEED))


def test_weather_to_come_does_not_weigh_reports():
    rain = CASE.demand.rain_mm.copy()
    rain[CASE.demand.index(CASE.known) + 1 :] = 0.0
    dry = replace(CASE.demand, rain_mm=rain)
    report = days_back(0, rolled=True)
    one = heard(report)
    two = believe(CASE.season, dry, CASE.known, SEED, [report], MEMBERS, CASE.years)

    assert one.told() == two.told()


def test_draws_that_hardly_fit_are_told_and_not_hidden():
    fits = heard(days_back(0, rolled=True))
    least = load_table("belief").number("least_effective")

    assert not fits.thin
    assert replace(fits, effective=least - 0.1).thin


def test_a_field_nobody_dug_can_be_reported_on_too():
    undug = replace(CASE.season, digs=())
    belief = believe(
        undug, CASE.demand, CASE.known, SEED, [days_back(0, rolled=True)], MEMBERS, CASE.years
    )

    assert len(belief.used) == 1
    assert "crossed" not in [one.name for one in belief.moved]


def test_what_belief_tells_goes_through_json_unchanged():
    told = heard(days_back(0, rolled=True), days_back(80, rolled=False)).told()

    assert json.loads(json.dumps(told)) == told
    assert [one["name"] for one in told["moved"]][:2] == ["water", "stress"]


@pytest.mark.parametrize(("years", "members"), [([], 30), ([2003], 0)])
def test_no_past_year_or_no_member_is_refused(years, members):
    with pytest.raises(RulesError, match="past years and"):
        believe(CASE.season, CASE.demand, CASE.known, SEED, [], members, years)


def test_a_field_of_another_seed_has_other_members():
    report = days_back(0, rolled=True)
    other = believe(CASE.season, CASE.demand, CASE.known, 8, [report], MEMBERS, CASE.years)

    assert not np.array_equal(heard(report).points, other.points)
