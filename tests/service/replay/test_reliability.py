"""Chances against what came: by hand, by the identity, and on chances known to be honest."""

from __future__ import annotations

import numpy as np
import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.replay.reliability import brier, classes, skill_range


@pytest.fixture
def rng():
    return np.random.default_rng(21)


def honest(rng, nights=4000, seasons=20):
    said = rng.uniform(0.0, 1.0, nights)
    came = (rng.uniform(0.0, 1.0, nights) < said).astype(float)
    return said, came, np.arange(nights) % seasons


def test_the_worked_example_comes_out_as_by_hand():
    # Murphy 1973: 5 nights of 0.2 with 1 event, 5 of 0.8 with 3
    # score (4 x 0.04 + 0.64 + 3 x 0.04 + 2 x 0.64) / 10 = 0.22; base rate 0.4
    # reliability 0.5 x 0.2^2 = 0.02, resolution 0.2^2 = 0.04, uncertainty 0.4 x 0.6 = 0.24
    said = np.array([0.2] * 5 + [0.8] * 5)
    came = np.array([1.0, 0, 0, 0, 0, 1, 1, 1, 0, 0])
    found = brier(said, came, (0.0, 0.5, 1.0))
    assert found.score == pytest.approx(0.22)
    assert (found.reliability, found.resolution) == pytest.approx((0.02, 0.04))
    assert found.uncertainty == pytest.approx(0.24)
    assert (found.spread, found.pull) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert found.skill == pytest.approx(1.0 - 0.22 / 0.24)


@pytest.mark.parametrize("edges", [(0.0, 1.0), (0.0, 0.5, 1.0), tuple(np.linspace(0, 1, 11))])
def test_the_parts_add_up_to_the_score_whatever_the_classes(rng, edges):
    # the identity of Stephenson, Coelho & Jolliffe 2008
    said = np.concatenate([rng.uniform(0, 1, 200), np.zeros(20), np.ones(20)])
    came = (rng.uniform(0, 1, 240) < 0.3).astype(float)
    found = brier(said, came, edges)
    parts = found.reliability - found.resolution + found.uncertainty + found.spread - found.pull
    assert parts == pytest.approx(found.score, abs=1e-12)


def test_honest_chances_have_reliability_near_zero_and_their_known_score(rng):
    said, came, _ = honest(rng, 200_000)
    found = brier(said, came)
    # of chances even between 0 and 1: score 1/6, base rate 1/2, skill 1/3
    assert found.score == pytest.approx(1 / 6, abs=0.003)
    assert found.skill == pytest.approx(1 / 3, abs=0.01)
    assert found.reliability < 1e-4
    assert brier(said**3, came).reliability > 0.02


def test_always_saying_the_base_rate_has_no_skill():
    came = np.array([1.0, 0, 0, 0])
    assert brier(np.full(4, 0.25), came).skill == pytest.approx(0.0)
    assert brier(np.zeros(3), np.zeros(3)).skill is None


def test_each_night_falls_into_one_class_and_empty_ones_are_left_out(rng):
    said = np.array([0.0, 0.05, 0.5, 0.95, 1.0, 1.0])
    came = np.array([0.0, 1, 1, 1, 1, 0])
    found = classes(said, came, np.array([1, 1, 2, 2, 3, 4]), rng)
    assert [(one.low, one.nights, one.seasons) for one in found] == [
        (0.0, 1, 1),
        (0.05, 1, 1),
        (0.4, 1, 1),
        (0.95, 3, 3),
    ]
    assert found[-1].said == pytest.approx((0.95 + 2.0) / 3)
    assert found[-1].came == pytest.approx(2 / 3)
    assert found[-1].came_low is None  # three seasons


def test_nights_of_one_season_that_go_together_make_the_range_wide(rng):
    seasons = np.repeat(np.arange(10), 50)
    together = np.repeat(rng.permutation([1.0] * 5 + [0.0] * 5), 50)
    alone = rng.permutation(together)
    said = np.full(500, 0.5)
    (wide,) = classes(said, together, seasons, rng)
    (narrow,) = classes(said, alone, seasons, rng)
    assert wide.came_high - wide.came_low > 3 * (narrow.came_high - narrow.came_low)
    # ten seasons: a binomial of ten draws, 2 to 8 of them
    assert (wide.came_low, wide.came_high) == pytest.approx((0.2, 0.8), abs=0.11)


def test_the_range_of_the_skill_holds_it_and_needs_five_seasons(rng):
    said, came, season = honest(rng)
    low, high = skill_range(said, came, season, rng)
    assert low < brier(said, came).skill < high
    assert low > 0.0
    assert high - low < 0.15
    assert skill_range(said, came, season % 4, rng) is None
    assert skill_range(said, np.zeros(len(said)), season, rng) is None


@pytest.mark.parametrize(
    ("said", "came", "match"),
    [
        ([0.5, 1.2], [0, 1], "chance 1: is 1.2; give 0 to 1"),
        ([0.5, float("nan")], [0, 1], "chance 1: is nan"),
        ([0.5, 0.5], [0, 0.4], "event 1: is 0.4; give 0 or 1"),
        ([0.5], [0, 1], "1 chances, 2 events"),
        ([], [], "0 chances"),
    ],
)
def test_what_is_no_chance_or_no_event_is_refused(rng, said, came, match):
    arrays = np.array(said, float), np.array(came, float)
    with pytest.raises(RefusedInput, match=match):
        brier(*arrays)
    with pytest.raises(RefusedInput, match=match):
        classes(*arrays, arrays[1].astype(np.int64), rng)
