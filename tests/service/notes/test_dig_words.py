"""The dig list in words: every state of the window, every chain of reasons."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rootbound_rules.risk.dig_again import AgainReason, DigAgain
from rootbound_rules.risk.dig_list import DigReason, FirstDig, reasons_of
from rootbound_rules.risk.dig_window import DigWindow
from rootbound_rules.risk.more_plants import MorePlants
from rootbound_rules.risk.spring import Spring
from rootbound_service.notes.en.dig_words import (
    DIG_CAUTIONS,
    again_text,
    dig_why,
    first_text,
    window_sentence,
    window_words,
)

SPRING = Spring(
    planted_share=0.6, rain_before_mm=0.0, rain_planting_mm=0.0, since_soaking=None,
    days_planted=8, longest_dry=1, top_dry=0.3, clay_pct=8.0, texture="", irrigated=False,
)  # fmt: skip
OPEN = DigWindow("open", 1, 3.0)
WET, RAIN, DRY = {"planted_share": 0.97}, {"rain_before_mm": 20.0}, {"longest_dry": 12}


def said(window=OPEN, **changes):
    spring = replace(SPRING, **changes)
    return dig_why(FirstDig(1, 1, window, spring, reasons_of(spring)))


@pytest.mark.parametrize(
    ("window", "short", "whole"),
    [
        (DigWindow("ahead", 6, 0.4), "opens in 6 d", "opens in 6 days."),
        (DigWindow("ahead", None, 0.0), "opens later", "opens later."),
        (DigWindow("open", 1, 3.0), "closes in 1 d", "is open, closes in 1 day."),
        (DigWindow("open", 0, 5.9), "closes today", "is open, closes today."),
        (DigWindow("open", None, 5.9), "open", "is open."),
        (DigWindow("late", None, 7.0), "just past", "a dig still shows how many roots cross"),
        (DigWindow("past", None, 11.0), "past", "says more for the next planting"),
        (DigWindow("none", None, 3.0), "none known", "No source gives a dig window for soybean"),
        (DigWindow("unknown", None, 0.0), "not known", "not known."),
    ],
)
def test_every_state_of_the_window_has_its_words(window, short, whole):
    assert window_words(window) == short
    assert whole in window_sentence(window, "soybean")


@pytest.mark.parametrize(
    ("changes", "begins"),
    [
        (WET | DRY, "Planted wet, dry since:"),
        (WET, "Planted wet:"),
        (RAIN | DRY, "Rain about planting, dry since:"),
        (RAIN, "Rain about planting:"),
        (DRY, "Not planted wet; dry since,"),
        ({}, "Nothing in the weather points to held roots"),
    ],
)
def test_every_chain_has_its_sentence(changes, begins):
    assert said(**changes).startswith(begins)


def test_a_top_layer_that_dried_in_a_day_or_two_is_no_dry_spell():
    assert "dry since" not in said(top_dry=0.95, **WET)


def test_fine_soil_is_named_only_where_it_was_wet():
    assert "more at risk" in said(clay_pct=30.0, **WET)
    assert "more at risk" not in said(clay_pct=30.0, **DRY)


def test_water_at_hand_is_named_where_walls_dried():
    assert "can be watered" in said(irrigated=True, **(WET | DRY))
    assert "can be watered" not in said(irrigated=True, **WET)


def test_the_unknown_is_said_to_be_unknown():
    dig = FirstDig(1, 1, DigWindow("unknown", None, 0.0), None, (DigReason.NOT_KNOWN,))

    assert first_text(dig, "maize", "us") == (
        "How far it has grown is not known. "
        "The weather around planting is not known: go by the window."
    )


def test_no_words_ever_rate_a_wall():
    for changes in (WET | DRY, WET, RAIN | DRY, RAIN, DRY, {}):
        text = said(**changes)
        assert "class" not in text
        assert not any(word in text for word in ("is smeared", "are hard"))


def test_figures_come_in_the_readers_units():
    spring = replace(SPRING, rain_before_mm=20.0, rain_planting_mm=5.4)
    dig = FirstDig(1, 1, OPEN, spring, ())

    assert "1.0 in of rain" in first_text(dig, "maize", "us")
    assert "25 mm of rain" in first_text(dig, "maize", "metric")


def again(*reasons, more):
    return DigAgain(1, reasons, date(2026, 5, 30), 0, 24.0, 7.9, 3, 1, more)


def test_a_second_dig_without_counts_is_asked_to_count():
    reasons = (AgainReason.LATE_CROSSING, AgainReason.COUNTS_WANTED)
    text = again_text(again(*reasons, more=MorePlants("counts_wanted")), "metric")

    assert text == (
        "V7, dug 30 May; 24 mm of water today. The coming two weeks may bring it to 3 short as "
        "dug, free roots to 1 drawing down. Count the roots that cross and the roots held this "
        "time."
    )


def test_a_dig_on_the_edge_is_sent_to_another_spot():
    text = again_text(again(AgainReason.INTERVAL, more=MorePlants("beyond", None, 3, 2)), "us")

    assert text.endswith("The dig leaves open 2 tight to 3 short: dig another spot.")


def test_the_cautions_name_lines_chemicals_heat_and_trenches():
    for word in ("buried lines", "811", "re-entry", "alone in heat", "trench"):
        assert word in DIG_CAUTIONS
