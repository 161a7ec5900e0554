"""Weights of draws: the curve of rolling, tempering, quantiles, resampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.season.weighing import (
    chance_rolled,
    effective,
    resampled,
    tempering,
    weighted_quantiles,
    weights_of,
)
from rootbound_rules.tables import load_table
from rootbound_rules.water.rootzone import depletion_fraction, stress


def test_half_of_the_fields_roll_at_the_rows_stress():
    middle = load_table("belief").number("rolled.middle_stress")

    assert chance_rolled(np.array([middle])) == pytest.approx(0.5)


def test_no_report_is_surer_than_one_in_ten_wrong():
    calm, withered = chance_rolled(np.array([0.0, 1.0]))

    assert 0.10 < calm < 0.15
    assert 0.89 < withered <= 0.90


def test_about_half_depletion_on_a_hot_day_is_where_leaves_begin_to_roll():
    """Michigan State University Extension, Kelley & Hall: about 50 %, on a hot afternoon."""
    p = depletion_fraction(0.55, 7.5)
    at = {share: 1.0 - stress(share, 1.0, p) for share in (0.40, 0.50, 0.60)}
    little, half, more = (float(chance_rolled(np.array([one]))[0]) for one in at.values())

    assert little < 0.15
    assert 0.3 < half < 0.6
    assert more > 0.85


@given(st.lists(st.floats(0, 1), min_size=2, max_size=20))
def test_more_stress_never_makes_rolling_less_likely(values):
    chances = chance_rolled(np.sort(values))

    assert (np.diff(chances) >= 0.0).all()


def test_a_report_alone_counts_whole_and_reports_of_one_day_count_as_one():
    assert tempering([12]) == pytest.approx([1.0])
    assert tempering([12, 12, 12]).sum() == pytest.approx(1.0)


def test_two_days_running_are_little_more_than_one_report_and_a_month_apart_are_two():
    assert 1.0 < tempering([12, 13]).sum() < 1.25
    assert tempering([12, 42]).sum() > 1.99


@given(st.lists(st.integers(0, 120), min_size=1, max_size=15), st.integers(0, 120))
def test_one_more_report_never_makes_an_earlier_one_count_more(days, another):
    alone, together = tempering(days), tempering([*days, another])

    assert (together[: len(days)] <= alone + 1e-12).all()
    assert together.sum() <= len(days) + 1.0


def test_equal_weights_are_as_many_as_they_are_and_one_weight_is_one():
    assert effective(weights_of(np.zeros(64))) == pytest.approx(64.0)
    assert effective(weights_of(np.array([0.0, -800.0]))) == pytest.approx(1.0)


def test_quantiles_of_equal_weights_are_the_plain_ones():
    values = np.random.default_rng(1).normal(size=2001)

    assert weighted_quantiles(values, np.full(2001, 1 / 2001)) == pytest.approx(
        np.quantile(values, [0.1, 0.5, 0.9], method="hazen"), abs=1e-9
    )


def test_quantiles_of_whole_weights_are_those_of_repeated_values():
    values, times = np.array([3.0, 1.0, 2.0, 5.0]), np.array([100, 300, 500, 100])
    want = np.quantile(np.repeat(values, times), [0.1, 0.5, 0.9])

    got = weighted_quantiles(values, times / times.sum())
    assert got[1] == pytest.approx(want[1], abs=0.5)
    assert got[0] <= got[1] <= got[2]


@given(
    st.lists(st.floats(-6, 0), min_size=2, max_size=60),
    st.integers(1, 64),
    st.integers(0, 1000),
)
def test_every_draw_is_chosen_as_often_as_its_weight_says_to_within_one(logs, count, seed):
    weights = weights_of(np.array(logs))
    chosen = resampled(weights, np.arange(len(logs)), count, seed)
    times = np.bincount(chosen, minlength=len(logs))

    assert times.sum() == count
    assert (np.abs(times - count * weights) < 1.0 + 1e-9).all()


def test_the_same_seed_chooses_the_same_members():
    weights = weights_of(np.random.default_rng(2).normal(size=100))
    order = np.random.default_rng(3).permutation(100)

    assert np.array_equal(resampled(weights, order, 30, 7), resampled(weights, order, 30, 7))
    assert not np.array_equal(resampled(weights, order, 30, 7), resampled(weights, order, 30, 8))


def test_a_members_place_in_the_order_is_the_seeds_alone():
    """So that a report changes what a member is, not which past year goes with the driest."""
    order = np.arange(400)
    even = resampled(np.full(400, 1 / 400), order, 30, 7)
    tilted = resampled(weights_of(np.linspace(0.0, 3.0, 400)), order, 30, 7)

    assert np.array_equal(np.argsort(even), np.argsort(tilted))
