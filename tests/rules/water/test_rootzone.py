"""The root zone in two parts: stress, deepening, and reach that grows and shrinks."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rootbound_rules.water.rootzone import (
    beyond_after_reach,
    deepening_gain,
    depletion_fraction,
    exchange_rate,
    stress,
    total_available,
    within_after_reach,
)

SOME = settings(deadline=None, derandomize=True)
REACHES = st.floats(0.05, 1.0)
DEPLETIONS = st.floats(0.0, 250.0)


def test_stress_begins_where_the_readily_available_water_ends():
    taw, p = 160.0, 0.4

    assert stress(0.0, taw, p) == 1.0
    assert stress(p * taw, taw, p) == pytest.approx(1.0)
    assert stress(p * taw + 9.6, taw, p) == pytest.approx(0.9)
    assert stress(taw, taw, p) == 0.0


@SOME
@given(DEPLETIONS, st.floats(0.0, 50.0), st.floats(50.0, 300.0), st.floats(0.1, 0.8))
def test_a_drier_zone_is_never_less_stressed(depletion, drier, taw, p):
    here, there = stress(depletion, taw, p), stress(depletion + drier, taw, p)

    assert 0.0 <= there <= here <= 1.0


@SOME
@given(st.floats(0.0, 1.0), st.floats(0.0, 30.0))
def test_the_depletion_fraction_stays_within_a_tenth_and_eight_tenths(table_p, use):
    assert 0.1 <= depletion_fraction(table_p, use) <= 0.8


def test_a_thirsty_day_brings_stress_sooner():
    assert depletion_fraction(0.55, 8.0) < depletion_fraction(0.55, 3.0)


def test_available_water_grows_with_depth():
    assert total_available(150.0, 1.2) == pytest.approx(180.0)


@SOME
@given(st.floats(0.0, 200.0), st.floats(0.0, 1.5), st.floats(0.0, 1.5))
def test_deepening_takes_no_more_depletion_than_lies_below(below, step, room):
    assert 0.0 <= deepening_gain(below, step, room) <= below


def test_deepening_takes_its_share_of_what_lies_below():
    assert deepening_gain(60.0, 0.1, 0.6) == pytest.approx(10.0)


@SOME
@given(REACHES, REACHES, DEPLETIONS, DEPLETIONS)
def test_a_change_of_reach_makes_no_water_and_loses_none(a, b, within, beyond):
    assume(a == b or abs(a - b) > 1e-6)
    assume(b < 1.0 - 1e-5 or b == 1.0)
    now = within_after_reach(a, b, within, beyond)
    outside = beyond_after_reach(a, b, within, beyond)

    before, after = a * within + (1 - a) * beyond, b * now + (1 - b) * outside

    assert after == pytest.approx(before, abs=1e-9)


@SOME
@given(REACHES, REACHES, DEPLETIONS, DEPLETIONS)
def test_after_a_change_of_reach_both_parts_lie_between_what_they_were(a, b, within, beyond):
    assume(b < 1.0 - 1e-5 or b == 1.0)
    low, high = min(within, beyond) - 1e-6, max(within, beyond) + 1e-6

    assert low <= within_after_reach(a, b, within, beyond) <= high
    assert low <= beyond_after_reach(a, b, within, beyond) <= high


def test_reach_that_stays_leaves_both_parts_to_the_last_digit():
    assert within_after_reach(0.37, 0.37, 12.3, 45.6) == 12.3
    assert beyond_after_reach(0.37, 0.37, 12.3, 45.6) == 45.6


def test_the_difference_left_after_a_day_is_that_of_the_slowest_mode_of_a_slab():
    """Crank 1975: exp(-pi^2 D t / (4 L^2)); loam, half a row of 38 cm of which half is reached."""
    wanted = math.exp(-(math.pi**2) * 2.2 / (4.0 * 19.0**2))

    assert exchange_rate(2.2, 38.0, 0.5) == pytest.approx(wanted, rel=1e-12)


@SOME
@given(st.floats(0.05, 20.0), st.floats(15.0, 50.0), REACHES)
def test_water_closes_the_difference_faster_over_a_shorter_way(diffusivity, half_row, a):
    nearer = min(a + 0.1, 1.0)

    assert exchange_rate(diffusivity, half_row, nearer) >= 0.0
    assert exchange_rate(diffusivity, half_row, nearer) <= exchange_rate(diffusivity, half_row, a)


def test_where_all_is_in_reach_no_difference_remains():
    assert exchange_rate(0.2, 38.0, 1.0) == 0.0
