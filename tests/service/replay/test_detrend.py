"""The trend of yields, against scipy and by hand."""

from __future__ import annotations

from itertools import combinations
from statistics import median

import numpy as np
import pytest
from scipy.stats import theilslopes

from rootbound_service.errors import RefusedInput
from rootbound_service.replay.detrend import anomalies, fit_trend, left_out_anomalies

YEARS = np.arange(1990, 2002)


def line(slope=2.0, at_1990=100.0):
    return at_1990 + slope * (YEARS - 1990.0)


def test_a_quarter_of_the_years_may_be_anything_and_the_trend_stays():
    values = line()
    values[[1, 5, 9]] = (10.0, 300.0, 0.0)
    trend = fit_trend(YEARS, values)
    assert trend.slope == pytest.approx(2.0)
    assert trend.at(1990) == pytest.approx(100.0)


def test_the_slope_is_the_median_over_all_pairs_as_sen_1968_defines_it():
    values = line() + np.random.default_rng(5).normal(0.0, 12.0, len(YEARS))
    pairs = combinations(zip(YEARS, values, strict=True), 2)
    slopes = [(b - a) / (year - before) for (before, a), (year, b) in pairs]
    assert fit_trend(YEARS, values).slope == pytest.approx(median(slopes))
    joint = theilslopes(values, YEARS, method="joint")
    assert fit_trend(YEARS, values).intercept == pytest.approx(joint.intercept)


def test_as_many_years_lie_above_the_trend_as_below():
    found = anomalies(YEARS, line() + np.random.default_rng(8).exponential(20.0, len(YEARS)))
    assert (found.absolute > 0.0).sum() == (found.absolute < 0.0).sum()


def test_anomalies_are_what_is_left_of_the_trend_and_its_share():
    values = line()
    values[4] -= 27.0
    found = anomalies(YEARS, values)
    assert found.absolute == pytest.approx(np.where(YEARS == 1994, -27.0, 0.0), abs=1e-9)
    assert found.share[4] == pytest.approx(-0.25)  # of 108


def test_the_order_of_the_years_does_not_matter():
    values = line() + np.random.default_rng(6).normal(0.0, 9.0, len(YEARS))
    turned = anomalies(YEARS[::-1], values[::-1])
    assert turned.share[::-1] == pytest.approx(anomalies(YEARS, values).share)


def test_a_year_left_out_does_not_pull_its_own_trend():
    values = line() + np.random.default_rng(7).normal(0.0, 9.0, len(YEARS))
    found = left_out_anomalies(YEARS, values)
    for changed in (0, 5, 11):
        other = values.copy()
        other[changed] += 40.0
        again = left_out_anomalies(YEARS, other)
        assert again.trend[changed] == pytest.approx(found.trend[changed])
        assert again.absolute[changed] == pytest.approx(found.absolute[changed] + 40.0)
    without = fit_trend(YEARS[1:], values[1:])
    assert found.trend[0] == pytest.approx(float(without.at(1990)))


def test_too_few_years_and_a_trend_below_zero_are_refused():
    with pytest.raises(RefusedInput, match="4 years make no trend; give at least 5"):
        anomalies(YEARS[:4], line()[:4])
    with pytest.raises(RefusedInput, match="4 years make no trend"):
        left_out_anomalies(YEARS[:5], line()[:5])
    with pytest.raises(RefusedInput, match="in 2001"):
        anomalies(YEARS, line(-10.0))
