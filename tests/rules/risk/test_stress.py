"""Stress-day equivalents: sums, onset and days ahead, on cubes made by hand."""

from __future__ import annotations

import numpy as np
import pytest

from rootbound_rules.risk.stress import NEVER, coming, days_ahead, onset, past, quantiles

RAMP = np.arange(10, dtype=np.float32)[:, None] * np.array([1.0, 2.0], np.float32)
"""Ten days, two members."""


def test_past_and_coming_meet_at_today_and_share_no_day():
    assert coming(RAMP, 4, 3).tolist() == [15.0, 30.0]
    assert past(RAMP, 4, 3).tolist() == [6.0, 12.0]
    assert (past(RAMP, 4, 4) + coming(RAMP, 4, 6)).tolist() == RAMP.sum(axis=0).tolist()


@pytest.mark.parametrize("today", [-5, 0])
def test_before_the_season_nothing_has_been_lost(today):
    assert past(RAMP, today, 7).tolist() == [0.0, 0.0]


def test_past_the_end_nothing_more_comes():
    assert coming(RAMP, 10, 7).tolist() == [0.0, 0.0]
    assert coming(RAMP, 8, 7).tolist() == [17.0, 34.0]


def test_onset_is_the_day_on_which_the_sum_passes_the_mark():
    stress = np.array([[0, 0.5, 0.0], [1, 0.5, 0.0], [1, 0.5, 0.1], [0.5, 0.5, 0]], np.float32)
    assert onset(stress, 1.5).tolist() == [2.5, 3.0, NEVER]


def test_a_sum_that_only_reaches_the_mark_is_no_onset():
    assert onset(np.full((4, 1), 0.5, np.float32), 2.0).tolist() == [NEVER]


def test_days_ahead_are_the_middle_and_the_middle_eighty_percent():
    held = np.arange(100, 111)
    free = held + np.arange(11)
    ahead = days_ahead(free, held)
    assert (ahead.kind, ahead.median) == ("days", 5.0)
    assert (ahead.low, ahead.high) == (pytest.approx(0.6), pytest.approx(9.4))


def test_where_the_held_roots_rarely_run_short_nothing_is_ahead():
    held = np.array([NEVER, NEVER, NEVER, 100])
    assert days_ahead(np.array([120, 120, 120, 120]), held).kind == "neither"


def test_where_only_the_held_roots_run_short_free_roots_would_not():
    held = np.array([100, 100, 100, 100])
    ahead = days_ahead(np.array([NEVER, NEVER, NEVER, 110]), held)
    assert (ahead.kind, ahead.median) == ("free_would_not", None)


def test_a_member_in_which_only_the_held_roots_run_short_opens_the_range():
    held = np.array([100, 100, 100, NEVER])
    ahead = days_ahead(np.array([104, 106, NEVER, 90]), held)
    assert (ahead.kind, ahead.low, ahead.median, ahead.high) == ("days", 4.0, 6.0, None)


def test_the_range_holds_as_many_of_the_next_draws_as_it_says():
    rng = np.random.default_rng(7)
    draws = rng.gamma(2.0, 4.0, size=(4000, 31))
    low, high = quantiles(draws[:, :30], (0.1, 0.9))
    inside = ((low <= draws[:, 30]) & (draws[:, 30] <= high)).mean()
    assert inside == pytest.approx(0.8, abs=0.02)  # one standard error is 0.006
    narrow = np.quantile(draws[:, :30], (0.1, 0.9), axis=1)
    assert ((narrow[0] <= draws[:, 30]) & (draws[:, 30] <= narrow[1])).mean() < inside


def test_quantiles_are_those_of_numpys_own_estimators_of_those_names():
    draws = np.random.default_rng(3).normal(size=(5, 17))
    expected = np.quantile(draws, (0.1, 0.5, 0.9), axis=1, method="weibull")
    np.testing.assert_allclose(quantiles(draws, (0.1, 0.5, 0.9)), expected)
    evenly = np.quantile(draws, (0.1, 0.5, 0.9), axis=1, method="hazen")
    np.testing.assert_allclose(quantiles(draws, (0.1, 0.5, 0.9), stratified=True), evenly)


def test_twins_that_are_the_same_are_no_day_ahead():
    same = np.array([100, 110, 120])
    assert days_ahead(same, same).median == 0.0
