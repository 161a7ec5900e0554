"""The invented climates have the numbers they are written with, and years that do not touch."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.truth import field_truth
from calibration.world import (
    CLIMATES,
    DAYS_IN_MONTH,
    FIRST_YEAR,
    PAST_YEARS,
    TRUTH_YEAR,
    demand_of,
    weather_years,
)

YEARS = 300
EACH = pytest.mark.parametrize("climate", CLIMATES, ids=lambda climate: climate.name)


@EACH
def test_months_have_their_rain_and_their_wet_days(climate):
    rain = weather_years(climate, YEARS, np.random.default_rng(3))["rain_mm"]
    ends = np.cumsum(DAYS_IN_MONTH)

    for month, (begin, end) in enumerate(zip(ends - DAYS_IN_MONTH, ends, strict=True)):
        monthly = rain[:, begin:end].sum(axis=1)
        error = monthly.std() / np.sqrt(YEARS)
        assert monthly.mean() == pytest.approx(climate.rain_mm[month], abs=4 * error + 1.5)
        wet = (rain[:, begin:end] > 0).mean()
        assert wet == pytest.approx(climate.wet_share[month], abs=0.025)


@EACH
def test_a_wet_day_makes_the_next_one_likelier_by_the_written_step(climate):
    july = weather_years(climate, YEARS, np.random.default_rng(4))["rain_mm"][:, 182:212] > 0

    after_wet, after_dry = july[:, 1:][july[:, :-1]].mean(), july[:, 1:][~july[:, :-1]].mean()
    assert after_wet - after_dry == pytest.approx(climate.persistence, abs=0.05)


def test_a_year_says_nothing_of_the_next():
    rain = weather_years(CLIMATES[1], YEARS, np.random.default_rng(5))["rain_mm"][:, 90:270]
    total = rain.sum(axis=1)

    assert abs(np.corrcoef(total[:-1], total[1:])[0, 1]) < 4 / np.sqrt(YEARS)
    spring, summer = rain[:, :90].sum(axis=1), rain[:, 90:].sum(axis=1)
    assert abs(np.corrcoef(spring, summer)[0, 1]) < 4 / np.sqrt(YEARS)


def test_the_year_that_comes_true_is_drawn_like_the_past_ones():
    truths, pasts = [], []
    for k in range(40):
        demand = demand_of(CLIMATES[2], np.random.default_rng([6, k]))
        begin = (np.datetime64(f"{TRUTH_YEAR}-01-01") - np.datetime64(demand.start)).astype(int)
        truths.append(demand.rain_mm[begin:].sum())
        pasts.append(demand.rain_mm[:begin].sum() / PAST_YEARS)
        assert demand.start.year == FIRST_YEAR
        assert len(demand) - begin in {365, 366}

    error = np.std(truths) / np.sqrt(len(truths))
    assert np.mean(truths) == pytest.approx(np.mean(pasts), abs=4 * error)


def test_climates_go_from_humid_to_dry_and_what_the_air_asks_for_rises():
    demands = [demand_of(climate, np.random.default_rng(7)) for climate in CLIMATES]
    balance = [demand.rain_mm.mean() - demand.et0_mm.mean() for demand in demands]
    asked = [demand.et0_mm.mean() for demand in demands]

    assert balance == sorted(balance, reverse=True)
    assert asked == sorted(asked)


def test_a_dig_counts_roots_with_the_true_share_and_is_dug_at_three_to_six_collars():
    truths = [field_truth(number, 11) for number in range(60)]

    off = []
    for truth in truths:
        dig = truth.season.digs[0]
        assert 3.0 <= truth.collars[truth.day(dig.dug_on)] < 6.5
        if truth.counted:
            roots = dig.crossing + dig.held
            spread = np.sqrt(roots * truth.true_share * (1.0 - truth.true_share))
            if spread > 1.0:
                off.append((dig.crossing - roots * truth.true_share) / spread)
    assert len(off) > 30
    assert abs(np.mean(off)) < 3 / np.sqrt(len(off))
    assert 0.7 < np.std(off) < 1.35


def test_a_wall_that_crumbles_holds_nothing_and_the_hardest_holds_most():
    truths = [field_truth(number, 11) for number in range(60)]
    shares = [
        np.mean([t.true_share for t in truths if t.wall_class == wall_class])
        for wall_class in range(4)
    ]

    assert shares[0] == 1.0
    assert shares == sorted(shares, reverse=True)
    for truth in truths:
        if truth.wall_class == 0:
            np.testing.assert_array_equal(truth.held.stress, truth.free.stress)
