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
        "don't text me any more", "Don\u2019t text me", "dont text me", "ok stop", "Yes, stop now",
        "I want this to end", "Quit please", "arr\u00eat", "\uff33\uff34\uff2f\uff30",
        "Please stop sending these", "no more texts thanks", "remove me",
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
        ("RAIN 0.8 # 12", Understood("rain", 12, "0.8")),
        ("Rain: .8 in.", Understood("rain", None, ".8 in")),
        ("rain.8", Understood("rain", None, ".8")),
        ("ok, will look", Understood("seen")),
        ("got it thanks", Understood("seen")),
        ("OK #12", Understood("seen", 12)),
    ],
)
def test_plain_answers_are_understood(text, meant):
    assert understand(text) == meant


@pytest.mark.parametrize(
    "text",
    [
        # another amount, day, unit or field than the first number says
        "RAIN 1/2", "RAIN \u00bd", "RAIN 1 1/2", "RAIN 7/14 0.8", "RAIN 12 0.8", "RAIN -0.5",
        "RAIN 0.8 cm", "RAIN 80 hundredths", "rain 0.8 yesterday", "rain stopped at 2",
        "RAIN 0.8 #12 #14", "RAIN #12345678901", "RAIN 0.8-1.0", "no rain 0.8",
        "ROLL YES, no rain", "roll yes no", "ROLL YES #12 #14", "roll",
        # neither a stop nor a word that a note was seen
        "End rows look fine", "Quit raining finally", "No stop needed", "Got 0.8 inches", "not ok",
        "ok rain 0.8",
    ],
)  # fmt: skip
def test_what_could_mean_something_else_is_not_guessed(text):
    assert understand(text).meaning == "unclear"


@given(
    st.integers(0, 9), st.integers(0, 99), st.sampled_from(["", "in", "mm"]), st.integers(1, 999)
)
def test_rain_is_read_as_it_was_written(whole, hundredths, unit, field):
    amount = f"{whole}.{hundredths:02}"
    meant = understand(f"Rain {amount}{unit} #{field}")

    assert meant == Understood("rain", field, f"{amount} {unit}".strip())


def test_a_long_text_is_read_in_no_time():
    assert understand("rain " + "1" * 20_000 + " x").meaning == "unclear"


@given(st.text(max_size=300))
def test_any_text_means_something(text):
    assert understand(text).meaning in {
        "stop", "start", "help", "seen", "rain", "rolled", "unclear",
    }  # fmt: skip
