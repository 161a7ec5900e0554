"""The scores tell honest chances from biased ones, and agree with published examples.

Outside sources: the worked cases of the article "Brier score" in Wikipedia (read); the input
of the example of ``rps`` in the R package ``verification``, "from Wilks" (read), whose score
0.73 in Wilks, Statistical Methods in the Atmospheric Sciences, is from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from calibration.coming_true import onset
from calibration.forecast import _judged
from calibration.scores import (
    brier,
    climatology,
    decompose,
    histogram,
    one_a_season,
    ranked,
    reliability,
    share,
    skill,
    skill_error,
)
from rootbound_rules.risk.stress import MIDDLE_80, quantiles

CASES = 20_000


@pytest.fixture
def rng():
    return np.random.default_rng(20300601)


def drawn(rng, bias=0.0):
    """Chances in thirtieths and what came true, ``bias`` likelier than said."""
    chance = rng.integers(0, 31, CASES) / 30
    return chance, rng.random(CASES) < np.clip(chance + bias, 0.0, 1.0)


@pytest.mark.parametrize(
    ("chance", "rained", "score"),
    [(1.0, True, 0.0), (1.0, False, 1.0), (0.7, True, 0.09), (0.3, True, 0.49), (0.5, True, 0.25)],
)
def test_the_brier_score_gives_the_published_cases(chance, rained, score):
    assert brier(np.array([chance]), np.array([rained])) == pytest.approx(score)


def test_the_ranked_score_gives_the_published_example():
    assert ranked(np.array([[0.2, 0.5, 0.3]]), np.array([0])) == pytest.approx(0.73)


def test_of_two_classes_the_ranked_score_is_the_brier_score(rng):
    chance, happened = drawn(rng)

    two = ranked(np.stack([1.0 - chance, chance], axis=1), happened.astype(int))
    assert two == pytest.approx(brier(chance, happened))


@pytest.mark.parametrize("bias", [0.0, 0.2])
def test_the_three_parts_add_up_to_the_score(rng, bias):
    chance, happened = drawn(rng, bias)

    parts = decompose(chance, happened)
    total = parts.reliability - parts.resolution + parts.uncertainty
    assert total == pytest.approx(brier(chance, happened), abs=1e-12)


def test_the_unreliable_part_is_the_bias_squared_and_nil_without(rng):
    honest, biased = decompose(*drawn(rng)), decompose(*drawn(rng, 0.2))

    assert honest.reliability < 0.001
    # E[(clip(p + 0.2) - p)^2] over p = 0, 1/30 ... 1
    p = np.arange(31) / 30
    expected = np.mean((np.minimum(p + 0.2, 1.0) - p) ** 2)
    assert biased.reliability == pytest.approx(expected, abs=0.003)


def test_honest_chances_lie_within_their_bars_and_biased_ones_outside(rng):
    season = np.arange(CASES)
    for bias, fewest, most in ((0.0, 0.6, 1.0), (0.2, 0.0, 0.4)):
        rows = reliability(*drawn(rng, bias), season)
        within = np.mean([row.bar_low <= row.seen <= row.bar_high for row in rows])
        assert fewest <= within <= most
    assert sum(row.cases for row in rows) == CASES


def test_bars_count_seasons_and_not_nights():
    chance, happened = np.full(100, 0.35), np.arange(100) % 3 == 0

    (few,) = reliability(chance, happened, np.arange(100) // 10)
    (many,) = reliability(chance, happened, np.arange(100))
    assert (few.seasons, many.seasons) == (10, 100)
    assert few.bar_high - few.bar_low > 2 * (many.bar_high - many.bar_low)


def test_climatology_saves_nothing_against_itself(rng):
    chance, happened = drawn(rng)
    season = np.arange(CASES) // 10
    base = climatology(happened, season, np.zeros(CASES), np.zeros(CASES))

    assert skill(brier(base, happened), brier(base, happened)) == 0.0
    assert skill(brier(chance, happened), brier(base, happened)) > 0.2
    # known base rate: nothing to save but the sampling of the rate itself
    assert (
        abs(skill(brier(np.full(CASES, happened.mean()), happened), brier(base, happened))) < 0.01
    )


def test_the_climatology_of_a_season_does_not_know_the_season_itself():
    happened = np.array([True, True, False, False, True, False])
    season = np.array([0, 0, 1, 1, 2, 2])
    climate = np.array(["dry", "dry", "dry", "dry", "wet", "wet"])

    found = climatology(happened, season, climate)
    assert found.tolist() == [0.0, 0.0, 1.0, 1.0, 0.5, 0.5]  # the only wet one: all others


def test_the_error_of_a_share_grows_when_nights_of_a_season_agree(rng):
    hit = rng.random(500) < 0.8
    alone = share(hit, np.arange(500))
    repeated = share(np.repeat(hit, 8), np.repeat(np.arange(500), 8))

    assert alone.error == pytest.approx(np.sqrt(0.8 * 0.2 / 500), rel=0.15)
    assert repeated.error == pytest.approx(alone.error)
    assert (repeated.cases, repeated.seasons) == (4000, 500)


def test_the_error_of_a_skill_is_the_spread_of_skills_of_many_worlds(rng):
    found = []
    for _ in range(200):
        chance = rng.integers(0, 31, 300) / 30
        happened = rng.random(300) < chance
        base = np.full(300, 0.5)
        found.append(
            (
                skill(brier(chance, happened), brier(base, happened)),
                skill_error(chance, base, happened, np.arange(300)),
            )
        )
    skills, errors = np.array(found).T
    assert errors.mean() == pytest.approx(skills.std(), rel=0.2)


def test_one_night_a_season_is_picked_from_those_allowed(rng):
    season, allowed = np.repeat(np.arange(50), 9), rng.random(450) < 0.5

    picked = one_a_season(allowed, season, rng)
    assert not (picked & ~allowed).any()
    assert np.unique(season[picked]).tolist() == np.unique(season[allowed]).tolist()
    assert picked.sum() == len(np.unique(season[allowed]))


def test_ranges_of_exchangeable_members_hold_the_truth_in_eight_of_ten_cases(rng):
    draws = rng.gamma(0.7, 10.0, (4000, 31))
    low, _, high = quantiles(draws[:, :-1], MIDDLE_80)

    held = (low <= draws[:, -1]) & (draws[:, -1] <= high)
    assert held.mean() == pytest.approx(0.8, abs=3 * np.sqrt(0.16 / 4000) + 0.005)
    under = (draws[:, :-1] < draws[:, -1:]).sum(axis=1)
    counts = histogram((under + rng.random(4000)) / 31)
    assert abs(counts - 400).max() < 4 * np.sqrt(4000 * 0.09)


@pytest.mark.parametrize(("tied", "fewest", "most"), [(0.0, 1.0, 1.0), (5.0, 0.3, 0.7)])
def test_a_truth_among_equals_is_inside_as_often_as_its_drawn_place(rng, tied, fewest, most):
    # a fifth of the members stand at 5, the upper end: half of that fifth lies inside
    members = np.concatenate([np.linspace(-2.0, 2.0, 24), np.full(6, 5.0)])
    low, middle, high = quantiles(members, MIDDLE_80)
    found = [_judged("x", (low, middle, high), members, tied, rng)["x:fair"] for _ in range(300)]

    assert high == 5.0
    assert fewest <= np.mean(found) <= most


def test_onset_lies_within_the_day_on_which_the_sum_passes_two():
    stress = np.array([[0.5, 0.0], [1.0, 0.0], [1.0, 0.5], [1.0, 0.5]])

    assert onset(stress).tolist() == [2.5, np.inf]
