"""Every state, rung, reason and kind of days ahead has its sentence."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_rules.risk.cause import Cause
from rootbound_rules.risk.ladder import RUNG_NAMES, Reason
from rootbound_service.notes.en import particulars, wording
from rootbound_service.notes.en.reasons import SENTENCES, reason_sentence
from rootbound_service.notes.facts import DaysAhead
from service.notes.cast import field, unknown, unrated


@pytest.mark.parametrize("rung", range(5))
def test_a_rung_is_told_with_number_and_word(rung):
    assert wording.status_label(field(rung=rung)) == f"{rung} {RUNG_NAMES[rung]}"


def test_the_change_says_from_where_to_where():
    assert wording.change(field(rung=2, previous_rung=1)) == "Up from 1 drawing down to 2 tight."
    assert wording.change(field(rung=0, previous_rung=3)) == "Down from 3 short to 0 ample."
    assert wording.change(field(rung=2, previous_rung=2)) == "Still 2 tight."
    assert wording.change(field(rung=1, previous_rung=None)) == "First rating: 1 drawing down."


def test_an_unrated_field_is_said_to_be_unrated_and_never_fine():
    facts = unrated(rung=0)

    assert wording.status_label(facts) == "unrated"
    assert wording.change(facts).startswith("Not rated: no dig yet")
    assert "held roots may be shorter" in wording.change(facts)
    assert wording.water_line(facts, "us") == "Free roots would have 1.1 in of water in reach."


def test_an_unknown_field_says_that_its_weather_is_too_old():
    assert wording.status_label(unknown()) == "no answer"
    assert "too old" in wording.change(unknown())
    assert wording.water_line(unknown(), "us") == "Water in reach is not known."


@pytest.mark.parametrize(
    ("status", "label", "told"),
    [("waiting", "not up yet", "emergence"), ("finished", "finished", "Black layer")],
)
def test_a_field_before_and_after_its_season_says_so(status, label, told):
    facts = field(status=status, rung=None)

    assert wording.status_label(facts) == label
    assert told in wording.change(facts)
    assert wording.cause(facts) == wording.why(facts) == wording.sure_line(facts, 30) == ""


def test_every_reason_of_the_ladder_has_a_sentence():
    assert set(SENTENCES) == set(Reason)


def test_a_reason_that_is_not_known_is_left_out_instead_of_guessed():
    assert reason_sentence("of_another_version", 2) == ""


@pytest.mark.parametrize("rung", range(4))
def test_a_field_that_came_down_is_told_as_better(rung):
    told = wording.why(field(rung=rung, previous_rung=4, reason="fell_after_wetting"))

    assert told.startswith("Rain has refilled the soil in reach.")
    assert "etter" in told or "Good news" in told


@pytest.mark.parametrize(
    ("rung", "free", "told"),
    [
        (2, 0, "The roots are the reason: free roots would be at 0 ample."),
        (2, 2, "The drought is general: free roots would be at 2 tight too."),
        (1, 2, "The roots are not the reason: free roots would be at 2 tight."),
        (0, 0, "Held and free roots both have enough."),
    ],
)
def test_the_cause_is_the_roots_or_the_drought(rung, free, told):
    assert wording.cause(field(rung=rung, free_rung=free)) == told


def test_water_in_reach_stands_beside_that_of_free_roots_in_both_units():
    told = {u: wording.water_line(field(), u) for u in ("us", "metric")}

    assert told["us"] == "0.4 in of water in reach; free roots would have 1.6 in."
    assert told["metric"] == "10 mm of water in reach; free roots would have 41 mm."


@pytest.mark.parametrize(
    ("ahead", "sentence", "cell"),
    [
        (
            DaysAhead("days", 6.2, 4.0, 9.3),
            (
                "Stress sets in about 6 days sooner than with free roots "
                "(4 to 9 in 8 of 10 outlook years)."
            ),
            "6 days sooner (4 to 9)",
        ),
        (
            DaysAhead("days", 1.0),
            "Stress sets in about 1 day sooner than with free roots.",
            "1 day sooner",
        ),
        (
            DaysAhead("days", 0.2, 0.0, 1.0),
            (
                "Stress sets in on about the same day as with free roots "
                "(0 to 1 in 8 of 10 outlook years)."
            ),
            "Same day as free roots",
        ),
        (
            DaysAhead("days", -2.0),
            "Stress sets in about 2 days later than with free roots.",
            "2 days later",
        ),
        (
            DaysAhead("free_would_not"),
            "Stress sets in with the held roots; with free roots it would not this season.",
            "Stress with held roots only",
        ),
        (
            DaysAhead("neither"),
            "Stress sets in with neither held nor free roots before black layer.",
            "No stress in the outlook",
        ),
        (
            DaysAhead("days", 9.0, 4.0, None),
            (
                "Stress sets in about 9 days sooner than with free roots "
                "(4 or more in 8 of 10 outlook years)."
            ),
            "9 days sooner (4 or more)",
        ),
        (DaysAhead("none"), "Nothing to compare yet.", ""),
    ],
)
def test_days_ahead_has_a_sentence_for_every_kind(ahead, sentence, cell):
    assert wording.ahead_line(ahead) == sentence
    assert wording.short_ahead(ahead) == cell


def test_how_sure_counts_past_summers():
    told = wording.sure_line(field(chance_7=0.634, chance_14=0.8), 30)

    assert told == (
        "Started from tonight's soil, 19 of 30 past summers brought stress within 7 days, "
        "24 within 14 days."
    )


def test_how_sure_gives_shares_where_the_number_of_summers_is_not_known():
    assert "63% of past summers" in wording.sure_line(field(chance_7=0.634, chance_14=None), 0)


def test_the_critical_window_is_named():
    assert particulars.stage_line(field()) == (
        "V15, silk in about 8 days: the critical window around silking, when dry days cost most."
    )
    past = field(stage="R3", days_to_silk=-12, critical_window=False)
    assert particulars.stage_line(past) == "R3."


def test_the_dig_names_wall_day_and_plants():
    assert particulars.dig_line(field(), "us") == "Wall 2 smeared, dug June 3, 10 plants."
    assert particulars.dig_line(unrated(), "us") == "No dig yet."


def test_the_weather_names_source_last_day_and_age():
    assert particulars.weather_line(field(), "metric") == (
        "NASA POWER, real through 14 July (2 days old)."
    )
    fresh = field(weather_through=date(2025, 7, 16))
    assert particulars.weather_line(fresh, "us").endswith("(of today).")
    assert "no real weather yet" in particulars.weather_line(field(weather_through=None), "us")


def test_the_dig_names_a_pan_with_its_depth():
    told = particulars.dig_line(field(pan_class=2, pan_depth_cm=28.0), "us")

    assert told == "Wall 2 smeared, hard pan at 11 in, dug June 3, 10 plants."
    assert "hard pan at 28 cm" in particulars.dig_line(
        field(pan_class=2, pan_depth_cm=28.0), "metric"
    )


@pytest.mark.parametrize(
    ("news", "words"),
    [("grown_free", "The roots have grown free."), ("held_again", "The roots are held after all.")],
)
def test_news_of_the_roots_alone_is_the_change(news, words):
    facts = field(rung=0, previous_rung=0, free_rung=0, reason=news, news=news)

    assert wording.change(facts) == f"{words} Its rung stays 0 ample."
    assert "Still" not in wording.change(facts)


def test_news_of_the_roots_rides_along_with_a_change_of_rung():
    facts = field(
        rung=0, previous_rung=2, free_rung=0, reason="fell_after_nights", news="grown_free"
    )

    assert wording.change(facts) == "Down from 2 tight to 0 ample."
    assert "grown past what held them" in wording.why(facts)


def test_a_drought_that_free_roots_share_is_not_blamed_on_the_roots_alone():
    told = wording.cause(field(rung=3, free_rung=0, cause=Cause.BOTH))

    assert (
        told
        == "The drought is general, and the roots make it worse: free roots would be at 0 ample."
    )
