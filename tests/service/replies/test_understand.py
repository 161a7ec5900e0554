"""What people write back, as they write it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.replies.understand import Understood, understand


@pytest.mark.parametrize(
    "text",
    [
        # words that always count: 47 CFR 64.1200(a)(10)
        "stop", "quit", "end", "revoke", "opt out", "cancel", "unsubscribe",
        # without regard to case and punctuation, and in normal language: CTIA 5.1.3
        "STOP", "Stop.", " sToP !!", "STOP please", "please opt me out", "Opt-out", "STOPALL",
        "don't text me any more", "Please stop sending these", "no more texts thanks", "remove me",
    ],
)  # fmt: skip
def test_whoever_wants_to_stop_is_understood(text):
    assert understand(text).meaning == "stop"


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("OK", Understood("seen")),
        ("ok thanks", Understood("seen")),
        ("Seen #12", Understood("seen", 12)),
        ("HELP", Understood("help")),
        ("start", Understood("start")),
        ("RAIN 0.8", Understood("rain", None, "0.8")),
        ("rain .8 in", Understood("rain", None, ".8 in")),
        ("Rain 20mm #7", Understood("rain", 7, "20 mm")),
        ("rain #7 1,2", Understood("rain", 7, "1.2")),
        ('Rain 0.5"', Understood("rain", None, "0.5 in")),
        ("rain field 7 0.3 inches", Understood("rain", 7, "0.3 in")),
        ("ROLL YES", Understood("rolled", rolled=True)),
        ("roll no", Understood("rolled", rolled=False)),
        ("Rolled yes #12", Understood("rolled", 12, rolled=True)),
        ("leaves not rolled", Understood("rolled", rolled=False)),
        ("end of the season looks fine here", Understood("unclear")),
        ("rain tomorrow?", Understood("unclear")),
        ("", Understood("unclear")),
        ("Call me", Understood("unclear")),
    ],
)
def test_plain_answers_are_understood(text, meant):
    assert understand(text) == meant


@given(st.text(max_size=300))
def test_any_text_means_something(text):
    assert understand(text).meaning in {
        "stop", "start", "help", "seen", "rain", "rolled", "unclear",
    }  # fmt: skip
