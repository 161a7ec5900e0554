"""In an invented world reports of leaves narrow belief, and the truth stays where it should.

The world is ``rolling_world``: truth drawn from the prior, one report in ten wrong. Only
seasons whose stress or water is in doubt count, for the others have nothing to learn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from rootbound_rules.season.belief import believe
from rules.season.rolling_world import case

CASES = 240
MEMBERS = 30
IN_DOUBT = {"stress": 0.02, "water": 0.5}
"""Width of the middle 80 % before any report, from which on there is something to learn."""
PLAY = 2.5
"""Standard errors that a share of these few cases may lie from 80 %."""


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """Of each case in doubt, before and after: width, whether it holds the truth, distance."""

    width: np.ndarray
    held: np.ndarray
    distance: np.ndarray

    def coverage(self) -> tuple[float, float]:
        """Share of the cases whose middle 80 % holds the truth, before and after."""
        before, after = self.held.mean(axis=0)
        return float(before), float(after)


@cache
def _beliefs(wrong: float, cases: int):
    """Each case with what was believed of it."""
    found = []
    for number in range(cases):
        one = case(number, wrong=wrong)
        belief = believe(one.season, one.demand, one.known, number, one.reports, MEMBERS, one.years)
        found.append((one, {row.name: row for row in belief.moved}))
    return found


@cache
def scores(name: str, wrong: float = 0.10, cases: int = CASES) -> Scores:
    rows = []
    for one, moved in _beliefs(wrong, cases):
        row = moved[name]
        truth = one.true_stress if name == "stress" else one.true_water
        if row.before[2] - row.before[0] > IN_DOUBT[name]:
            rows.append([_score(three, truth) for three in (row.before, row.after)])
    found = np.array(rows)
    return Scores(found[:, :, 0], found[:, :, 1], found[:, :, 2])


def _score(three, truth):
    low, middle, high = three
    return high - low, low - 1e-6 <= truth <= high + 1e-6, abs(middle - truth)


def _error(score: Scores) -> float:
    """Standard error of a share of 80 % among so many cases."""
    return float(np.sqrt(0.8 * 0.2 / len(score.held)))


@pytest.mark.parametrize(("name", "least"), [("stress", 0.15), ("water", 0.02)])
def test_the_spread_shrinks_on_average(record_property, name, least):
    score = scores(name)
    before, after = score.width.mean(axis=0)
    record_property(f"{name}_narrower", 1.0 - after / before)

    assert len(score.width) >= 30
    assert 1.0 - after / before > least


@pytest.mark.parametrize("name", ["stress", "water"])
def test_the_median_comes_nearer_to_the_truth(name):
    before, after = scores(name).distance.mean(axis=0)

    assert after < before


@pytest.mark.parametrize("name", ["stress", "water"])
def test_the_middle_80_percent_still_holds_the_truth_as_often_as_it_says(record_property, name):
    """At least 80 %, and little above it: an edge at 0 holds a crowd, of water and of stress."""
    score = scores(name)
    before, after = score.coverage()
    record_property(f"{name}_coverage", after)
    play = PLAY * _error(score)

    assert after > 0.80 - play
    assert after < max(0.80, before) + 2.0 * play


def test_lies_would_be_seen():
    """The same scores on reports that nine times in ten say the contrary of the leaves."""
    true, lies = scores("stress"), scores("stress", wrong=0.90, cases=60)

    assert lies.coverage()[1] < lies.coverage()[0] - 0.1
    assert lies.distance[:, 1].mean() > lies.distance[:, 0].mean()
    assert lies.coverage()[1] < true.coverage()[1]
