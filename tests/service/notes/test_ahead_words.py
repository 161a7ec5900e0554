"""What is said of the days to come: when, what would hold it, how the roots grow."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rootbound_rules.risk.more_plants import MorePlants
from rootbound_rules.risk.rain_to_hold import HoldDay, ToHold
from rootbound_service.notes.en import ahead_words
from rootbound_service.notes.facts import Reach, Spell
from service.notes.cast import NIGHT, field, unrated

IN = timedelta(days=1)
SOON = Spell(NIGHT + 5 * IN, NIGHT + 2 * IN, NIGHT + 14 * IN)
LATER = Spell(NIGHT + 17 * IN, NIGHT + 10 * IN, None)


def rain(*amounts: float | None) -> ToHold:
    days = tuple(
        HoldDay(
            NIGHT + n * IN, mm, None if mm is None else 0.6 * mm, None if mm is None else 2 * mm
        )
        for n, mm in enumerate(amounts, 1)
    )
    return ToHold("rain", days)


def test_when_names_held_and_free_roots_with_their_ranges():
    facts = field(held_short=SOON, free_short=LATER)

    assert ahead_words.when_line(facts, "us") == (
        "Stress sets in about Jul 21 (Jul 18 to Jul 30 in 8 of 10 outlook years); "
        "with free roots about Aug 2."
    )


def test_a_shortage_that_has_come_is_told_as_past():
    been = Spell(NIGHT - 3 * IN, NIGHT - 4 * IN, NIGHT - 2 * IN)

    assert ahead_words.when_line(field(held_short=been), "metric") == (
        "Stress set in on 13 Jul; with free roots probably not this season."
    )


def test_a_range_never_begins_in_the_past():
    told = ahead_words.when_line(field(held_short=Spell(NIGHT, NIGHT - 9 * IN, NIGHT + IN)), "us")

    assert "(Jul 16 to Jul 17" in told


def test_a_range_without_an_end_says_that_some_years_never_come_to_it():
    assert "in some years not at all" in ahead_words.when_line(field(held_short=LATER), "us")


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "Stress does not set in before black layer"), (0.3, "in 3 in 10"), (0.06, "in 1 in 10")],
)
def test_an_unlikely_shortage_is_told_by_its_chance(share, words):
    assert words in ahead_words.when_line(field(chance_short=share), "us").replace("  ", " ")


def test_a_field_nobody_dug_in_is_told_of_free_roots_only():
    told = ahead_words.when_line(unrated(held_short=SOON, free_short=SOON), "us")

    assert told.startswith("With free roots stress sets in about Jul 21")


def test_amounts_are_rounded_up_so_that_they_are_enough():
    told = ahead_words.hold_line(rain(10.2), "us")

    assert told == "0.5 in (0.3 to 0.9) more than expected on Jul 17 would keep it from climbing."
    assert ahead_words.hold_line(rain(10.2), "metric").startswith(
        "11 mm (7 to 21) more than expected on 17 Jul"
    )


def test_a_day_too_late_is_told():
    told = ahead_words.hold_line(rain(10.0, 14.0, None), "us")

    assert told.endswith(
        "or 0.6 in on Jul 18, would keep it from climbing; later would be too late."
    )


def test_a_rain_that_would_run_through_a_full_soil_is_told():
    told = ahead_words.hold_line(rain(None, 10.0, 12.0), "us")

    assert told.endswith("keep it from climbing; sooner it would run through.")


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("none_needed", "None needed"),
        ("none_would", "No rain of the coming week would"),
        ("at_top", "highest rung"),
        ("already_climbing", "climbing already"),
    ],
)
def test_answers_without_an_amount_are_answers_too(kind, words):
    assert words in ahead_words.hold_line(ToHold(kind), "us")
    assert ahead_words.hold_figure(ToHold(kind), "us") is None


def test_no_search_no_sentence():
    assert ahead_words.hold_line(None, "us") == ""
    assert ahead_words.hold_figure(None, "us") is None


def test_the_big_number_is_the_first_amount():
    assert ahead_words.hold_figure(rain(10.2, 14.0), "us") == (
        "0.5 in",
        "more rain on Jul 17 would hold it (0.3 to 0.9)",
    )


def test_the_chance_of_worse_counts_the_rungs_above_tonights():
    assert ahead_words.worse_line(field(rung_chances=(0.1, 0.1, 0.4, 0.3, 0.1))) == (
        "Within two weeks 4 in 10 outlook years go higher than tonight's rung."
    )
    assert ahead_words.worse_line(field(rung_chances=(0.1, 0.1, 0.8, 0.0, 0.0))) == ""
    assert ahead_words.worse_line(unrated(rung_chances=(0.0, 0.0, 0.0, 0.0, 1.0))) == ""


def test_the_roots_are_told_with_where_they_will_be():
    later = Reach(date(2025, 7, 30), 0.55, 0.64, 0.75)

    assert ahead_words.roots_line(field(reach_later=later), "us") == (
        "They reach 58% of the rooted soil today, 64% (55 to 75) by Jul 30."
    )
    assert ahead_words.roots_line(unrated(), "us") == ""


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (MorePlants("enough"), ""),
        (MorePlants("more", 4), "4 more plants would settle"),
        (MorePlants("counts_wanted"), "Counting roots"),
        (MorePlants("beyond"), "edge of a rung"),
    ],
)
def test_more_plants_are_asked_for_only_where_they_settle_a_rung(more, words):
    told = ahead_words.plants_line(field(more_plants=more))

    assert words in told
    assert bool(words) == bool(told)


def test_a_furrow_that_crumbles_needs_no_counts():
    free = field(more_plants=MorePlants("counts_wanted"), wall_class=0)

    assert ahead_words.plants_line(free) == ""


def test_the_line_of_a_table_says_when_and_what_would_hold_it():
    told = ahead_words.short_when(field(held_short=SOON, rain_to_hold=rain(10.2, 14.0)), "us")

    assert told == "Stress about Jul 21. 0.5 in more rain on Jul 17 would hold it (0.3 to 0.9)."
    assert ahead_words.short_when(field(), "us") == ""
