"""Every named reason in plain words."""

from __future__ import annotations

import re

import pytest

from rootbound_rules.risk.ladder import Reason
from rootbound_service.notes.en.reasons import SENTENCES, reason_sentence


@pytest.mark.parametrize("reason", list(Reason))
def test_a_reason_is_one_to_three_plain_sentences_that_promise_nothing(reason):
    text = SENTENCES[reason]
    assert 1 <= len(re.findall(r"[.](?:\s|$)", text)) <= 3
    assert text.endswith(".")
    # any crop, any unit, no promise, none of our own inner words
    for word in ("silk", "maize", "yield", "will ", "guarantee", "hysteresis", "twin", "member"):
        assert word not in text.lower()


def test_no_two_reasons_sound_alike():
    assert len(set(SENTENCES.values())) == len(Reason)


def test_news_of_the_roots_stand_by_themselves_whatever_the_rung_did():
    for reason in (Reason.GROWN_FREE, Reason.HELD_AGAIN):
        for rung in range(4):
            assert reason_sentence(reason, rung, eased=True) == SENTENCES[reason]


def test_a_rung_reached_early_around_the_critical_window_says_that_it_is_early():
    for early, usual in (
        (Reason.CRITICAL_7_DAYS, Reason.STRESS_LIKELY_7_DAYS),
        (Reason.CRITICAL_14_DAYS, Reason.STRESS_LIKELY_14_DAYS),
    ):
        assert "less likely than not" in reason_sentence(early, 2)
        assert "less likely" not in reason_sentence(usual, 2)


def test_a_reason_of_a_later_version_is_left_out():
    assert reason_sentence("something_new", 2) == ""
