"""One night on the ladder: the rung each reading stands for, by name."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from rootbound_rules.risk.ladder import (
    RUNG_NAMES,
    Memory,
    Reading,
    Reason,
    decide,
    held_back,
    raw_rung,
)

QUIET = Reading(0.0, 0.0, 0.0, 0.0, collars=14.0, past_r4=False, critical=False)


def read(**changes):
    return raw_rung(replace(QUIET, **changes))


@pytest.mark.parametrize(
    ("changes", "rung", "reason"),
    [
        ({}, 0, Reason.AMPLE),
        ({"chance_14": 0.49}, 0, Reason.AMPLE),
        ({"chance_14": 0.50}, 1, Reason.STRESS_LIKELY_14_DAYS),
        ({"chance_14": 1.0, "chance_7": 0.49}, 1, Reason.STRESS_LIKELY_14_DAYS),
        ({"chance_7": 0.50}, 2, Reason.STRESS_LIKELY_7_DAYS),
        ({"chance_14": 0.33, "critical": True}, 1, Reason.STRESS_LIKELY_14_DAYS),
        ({"chance_14": 0.32, "critical": True}, 0, Reason.AMPLE),
        ({"chance_7": 0.33, "critical": True}, 2, Reason.STRESS_LIKELY_7_DAYS),
        ({"chance_short": 0.5}, 3, Reason.SHORT_PAST_3_DAYS),
        ({"chance_short": 0.49, "critical": True}, 0, Reason.AMPLE),
        ({"chance_short": 1.0, "collars": 9.9}, 0, Reason.AMPLE),
        ({"chance_short": 1.0, "collars": 9.9, "chance_7": 0.6}, 2, Reason.STRESS_LIKELY_7_DAYS),
        ({"chance_short": 1.0, "collars": 10.0}, 3, Reason.SHORT_PAST_3_DAYS),
        ({"chance_failing": 0.5}, 4, Reason.FAILING_PAST_7_DAYS),
        ({"chance_failing": 1.0, "collars": 11.9}, 0, Reason.AMPLE),
        ({"chance_failing": 1.0, "past_r4": True}, 0, Reason.AMPLE),
        (
            {"chance_failing": 1.0, "chance_short": 1.0, "past_r4": True},
            3,
            Reason.SHORT_PAST_3_DAYS,
        ),
    ],
)
def test_each_reading_stands_for_its_rung(changes, rung, reason):
    assert read(**changes) == (rung, reason)


def test_there_is_a_name_for_every_rung():
    assert RUNG_NAMES == ("ample", "drawing down", "tight", "short", "failing")


def test_a_first_night_at_ample_says_nothing():
    made = decide(QUIET, None)
    assert (made.rung, made.note, made.said_rung) == (0, False, None)


def test_a_first_night_above_ample_says_so():
    made = decide(replace(QUIET, chance_7=0.9), None)
    assert (made.rung, made.note, made.said_rung) == (2, True, 2)


def test_the_same_rung_again_says_nothing():
    dry = replace(QUIET, chance_7=0.9)
    assert not decide(dry, Memory(2, said_rung=2)).note


def test_two_nights_below_hold_the_rung_and_the_third_lets_it_fall():
    eased = replace(QUIET, chance_14=0.6, chance_7=0.4)
    first = decide(eased, Memory(2, said_rung=2))
    second = decide(eased, Memory(2, first.nights_below, 2, first.nights_under_said))
    third = decide(eased, Memory(2, second.nights_below, 2, second.nights_under_said))
    assert [night.rung for night in (first, second, third)] == [2, 2, 1]
    assert third.reason is Reason.FELL_AFTER_NIGHTS
    assert not third.note


def test_a_wetting_ends_a_rung_at_once():
    made = decide(replace(QUIET, chance_7=0.2), Memory(2, said_rung=2))
    assert (made.rung, made.reason) == (0, Reason.FELL_AFTER_WETTING)


def test_a_field_back_at_ample_is_told_after_three_nights_there():
    memory, told = Memory(3, said_rung=3), []
    for _ in range(4):
        made = decide(QUIET, memory)
        told.append(made.note)
        memory = Memory(made.rung, made.nights_below, made.said_rung, made.nights_under_said)
    assert told == [False, False, True, False]


def test_nights_at_a_lower_rung_are_no_nights_at_ample():
    drawing = replace(QUIET, chance_14=0.6)
    memory, told = Memory(3, said_rung=3), []
    for reading in (drawing, drawing, drawing, QUIET, QUIET, QUIET):
        made = decide(reading, memory)
        told.append((made.rung, made.note))
        memory = Memory(made.rung, made.nights_below, made.said_rung, made.nights_under_said)
    assert told[:3] == [(1, False)] * 3
    assert told[3:] == [(0, False), (0, False), (0, True)]


def test_a_return_within_a_week_to_what_was_said_is_no_news_and_a_later_one_is():
    short = replace(QUIET, chance_short=0.9)
    drawing = replace(QUIET, chance_14=0.6)
    for nights, news in ((3, False), (8, True)):
        memory = Memory(3, said_rung=3)
        for reading in [drawing] * nights + [short]:
            made = decide(reading, memory)
            memory = Memory(made.rung, made.nights_below, made.said_rung, made.nights_under_said)
        assert made.note is news


def test_no_reading_from_any_memory_gives_an_exception():
    chances = (0.0, 0.2, 0.5, 1.0)
    memories = [None, *(Memory(r, b, s) for r in range(5) for b in (0, 2, 9) for s in (None, 0, 4))]
    made = [
        decide(Reading(a, b, c, d, 14.0, past_r4=False, critical=critical), memory)
        for a, b, c, d in itertools.product(chances, repeat=4)
        for critical in (True, False)
        for memory in memories
    ]
    assert {night.rung for night in made} == {0, 1, 2, 3, 4}
    assert all(isinstance(night.reason, Reason) for night in made)


RISEN = replace(QUIET, chance_7=0.9)


@pytest.mark.parametrize(
    "before",
    [None, Memory(0), Memory(1, said_rung=1), Memory(1, said_rung=2, nights_under_said=3)],
)
def test_a_rise_that_rests_on_rain_nobody_measured_is_held_back_without_a_word(before):
    made = held_back(decide(RISEN, before), before)
    usual = before or Memory(0)

    assert (made.rung, made.raw_rung) == (usual.rung, 2)
    assert (made.reason, made.note) == (Reason.RAIN_NOT_KNOWN, False)
    assert (made.said_rung, made.nights_under_said) == (usual.said_rung, usual.nights_under_said)
    assert made.nights_below == 0


@pytest.mark.parametrize(
    "before",
    [Memory(2, said_rung=2), Memory(3, said_rung=3), Memory(3, nights_below=2, said_rung=3)],
)
def test_a_rung_that_stays_or_falls_is_not_held_back(before):
    made = decide(RISEN, before)

    assert made.rung <= before.rung
    assert held_back(made, before) == made


def test_a_note_that_a_field_has_eased_is_not_held_back():
    before = Memory(0, said_rung=2, nights_under_said=2)
    made = decide(QUIET, before)

    assert made.note
    assert held_back(made, before) == made


def test_a_rise_that_was_held_back_comes_the_night_that_rain_is_known():
    before = Memory(0)
    held = held_back(decide(RISEN, before), before)
    memory = Memory(held.rung, held.nights_below, held.said_rung, held.nights_under_said)
    made = decide(RISEN, memory)

    assert (made.rung, made.note, made.said_rung) == (2, True, 2)
    assert made == decide(RISEN, before)


def test_a_rise_held_back_for_many_nights_forgets_nothing_that_was_said():
    memory = Memory(1, said_rung=3, nights_under_said=6)
    for _ in range(10):
        held = held_back(decide(RISEN, memory), memory)
        memory = Memory(held.rung, held.nights_below, held.said_rung, held.nights_under_said)

    assert memory.said_rung == 3
