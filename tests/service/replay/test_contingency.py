"""Seasons counted by warning and event, against a textbook's table."""

from __future__ import annotations

import numpy as np
import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.replay.contingency import (
    Seasons,
    bad_seasons,
    best_third,
    share_range,
    tally,
)


def test_finleys_tornado_forecasts_come_out_as_in_the_textbook():
    # Finley 1884, in Wilks, Statistical Methods in the Atmospheric Sciences, chapter on 2 x 2
    # tables: 28 hits, 23 misses, 72 false alarms, 2680 correct negatives
    finley = Seasons(hits=28, misses=23, false_alarms=72, quiet=2680)
    assert finley.detected == pytest.approx(0.549, abs=5e-4)
    assert finley.false_alarm_ratio == pytest.approx(0.720, abs=5e-4)
    assert finley.false_alarm_rate == pytest.approx(0.0262, abs=5e-5)
    assert finley.peirce == pytest.approx(0.523, abs=5e-4)
    assert finley.said() == "detected 55%, false alarms 72% of the warnings, Peirce score 0.52"


def test_always_and_never_warning_have_no_skill():
    came = np.arange(12) % 2 == 0
    assert tally(np.ones(12, bool), came).peirce == 0.0
    assert tally(np.zeros(12, bool), came).peirce == 0.0
    assert tally(came, came).peirce == 1.0
    assert tally(~came, came).peirce == -1.0


def test_each_season_is_counted_once():
    warned = np.array([True, True, True, False, False, False, False])
    came = np.array([True, False, False, True, True, True, False])
    assert tally(warned, came) == Seasons(hits=1, misses=3, false_alarms=2, quiet=1)


def test_under_five_events_there_is_too_little_to_say():
    assert not Seasons(3, 1, 2, 12).enough
    assert Seasons(3, 1, 2, 12).said() == "too few to say: 4 seasons had it, 14 did not"
    assert not Seasons(10, 1, 2, 2).enough
    assert Seasons(3, 2, 2, 12).enough


def test_what_cannot_be_shared_is_none():
    none = Seasons(0, 0, 0, 9)
    assert (none.detected, none.false_alarm_ratio, none.peirce) == (None, None, None)
    assert share_range(0, 0) is None
    assert Seasons(0, 5, 0, 9).said().startswith("detected 0%, false alarms none")


@pytest.mark.parametrize(
    ("count", "cases", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)],
)
def test_the_interval_of_a_share_is_wilsons(count, cases, low, high):
    # Newcombe 1998, Stat. Med. 17:857-872, Table I, score method without correction
    assert share_range(count, cases) == pytest.approx((low, high), abs=6e-5)


def test_a_bad_season_lies_more_than_a_tenth_under_its_trend():
    share = np.array([-0.3, -0.11, -0.1, -0.05, 0.2])
    assert bad_seasons(share).tolist() == [True, True, False, False, False]
    assert bad_seasons(share, 0.2).sum() == 1


def test_alarms_are_counted_among_the_best_third_of_the_yields():
    share = np.array([0.3, -0.5, 0.2, 0.0, 0.1, -0.1, -0.2])
    nights = np.array([7, 60, 6, 30, 99, 50, 40])
    found = best_third(share, nights)
    assert (found.seasons, found.alarmed, found.share) == (2, 1, 0.5)
    assert best_third(share, nights, 6).alarmed == 2
    assert best_third(share[:2], nights[:2]).share is None


def test_series_of_different_seasons_are_refused():
    with pytest.raises(RefusedInput, match="2 seasons of warnings stand beside 3 of events"):
        tally(np.zeros(2, bool), np.zeros(3, bool))
    with pytest.raises(RefusedInput, match="give both for the same seasons"):
        best_third(np.zeros(3), np.zeros(2, int))
