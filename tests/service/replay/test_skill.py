"""Figures of skill against numpy and scipy, and on scores whose worth is known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import bootstrap, spearmanr

from rootbound_service.errors import RefusedInput
from rootbound_service.replay.skill import correlate, gain, measure_skill, predict_left_out


@pytest.fixture
def rng():
    return np.random.default_rng(11)


def pair(rng, rho=-0.7, n=18):
    x = rng.standard_normal(n)
    return x, rho * x + np.sqrt(1.0 - rho**2) * rng.standard_normal(n)


def test_correlations_are_those_of_numpy_and_scipy(rng):
    x, y = pair(rng)
    x[:4] = x[4]  # ties
    found = measure_skill(x, y, rng)
    assert found.pearson.value == pytest.approx(np.corrcoef(x, y)[0, 1])
    assert found.spearman.value == pytest.approx(spearmanr(x, y).statistic)


def test_the_interval_is_scipys_percentile_bootstrap(rng):
    x, y = pair(rng)
    ours = correlate(x, y, rng, draws=20_000)
    theirs = bootstrap(
        (x, y),
        lambda a, b: np.corrcoef(a, b)[0, 1],
        paired=True,
        vectorized=False,
        n_resamples=5_000,
        method="percentile",
        rng=rng,
    ).confidence_interval
    assert ours.low == pytest.approx(theirs.low, abs=0.02)
    assert ours.high == pytest.approx(theirs.high, abs=0.02)


def test_the_interval_holds_the_truth_about_as_often_as_it_says(rng):
    held = 0
    for _ in range(300):
        found = correlate(*pair(rng, -0.6, 15), rng, draws=400)
        held += found.low <= -0.6 <= found.high
    assert 0.87 <= held / 300 <= 0.97


def test_a_year_is_predicted_from_the_line_through_the_others(rng):
    x, y = pair(rng)
    predicted, mean = predict_left_out(x, y)
    for i in range(len(x)):
        others = np.arange(len(x)) != i
        slope, start = np.polyfit(x[others], y[others], 1)
        assert predicted[i] == pytest.approx(start + slope * x[i])
        assert mean[i] == pytest.approx(y[others].mean())


def test_the_left_out_skill_is_one_for_a_line_and_below_zero_for_noise(rng):
    x = rng.standard_normal(18)
    assert measure_skill(x, 3.0 - 2.0 * x, rng).left_out == pytest.approx(1.0)
    noise = [measure_skill(*pair(rng, 0.0), rng).left_out for _ in range(30)]
    assert np.mean(noise) < 0.0


def test_other_years_do_not_count(rng):
    x, y = pair(rng)
    chosen = np.arange(18) < 12
    y_else = np.where(chosen, y, 99.0)
    some = measure_skill(x, y_else, np.random.default_rng(1), chosen)
    assert some == measure_skill(x[:12], y[:12], np.random.default_rng(1))
    x[3] = np.nan
    assert measure_skill(x, y, rng).years == 17


def test_under_five_years_and_for_a_score_that_never_changes_there_is_nothing_to_say(rng):
    x, y = pair(rng)
    few = measure_skill(x, y, rng, np.arange(18) < 4)
    assert (few.years, few.pearson, few.left_out) == (4, None, None)
    flat = measure_skill(np.full(18, 0.1), y, rng)
    assert (flat.pearson, flat.spearman) == (None, None)
    assert flat.left_out == pytest.approx(0.0)


def test_the_same_chance_gives_the_same_interval(rng):
    x, y = pair(rng)
    first, again = (measure_skill(x, y, np.random.default_rng(4)) for _ in range(2))
    assert first == again


def test_a_score_that_tells_more_gains_and_one_against_itself_gains_nothing(rng):
    y = rng.standard_normal(18)
    good, poor = -y + 0.1 * rng.standard_normal(18), rng.standard_normal(18)
    found = gain(good, poor, y, rng)
    assert found.value == pytest.approx(np.corrcoef(poor, y)[0, 1] - np.corrcoef(good, y)[0, 1])
    assert found.low > 0.0
    same = gain(good, good, y, rng)
    assert (same.value, same.low, same.high) == (0.0, 0.0, 0.0)
    assert gain(good, np.zeros(18), y, rng) is None


def test_series_of_different_years_are_refused(rng):
    with pytest.raises(RefusedInput, match="3 scores stand beside 4 yields"):
        measure_skill(np.zeros(3), np.zeros(4), rng)
