"""One night on the ladder: the rung each reading stands for, by name."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, timedelta

import pytest

from rootbound_rules.risk.ladder import (
    RUNG_NAMES,
    Memory,
    Reading,
    Reason,
    decide,
    held_back,
    is_jump,
    raw_rung,
)

NIGHT = date(2026, 7, 10)
QUIET = Reading(0.0, 0.0, 0.0, 0.0, collars=14.0, past_r4=False, critical=False)
DRAWING = replace(QUIET, chance_14=0.6)
TIGHT = replace(QUIET, chance_14=0.9, chance_7=0.9)
SHORT = replace(TIGHT, chance_short=0.9)
FAILING = replace(SHORT, chance_failing=0.9)


def read(**changes):
    return raw_rung(replace(QUIET, **changes))


def remember(made):
    """What the ladder remembers of a decision."""
    return Memory(
        made.rung, made.nights_below, made.said_rung, made.nights_under_said, made.changed_on
    )


def climb(readings, memory=None, start=NIGHT):
    """Decisions of a night each, one after the other."""
    found = []
    for step, reading in enumerate(readings):
        found.append(decide(reading, memory, start + timedelta(days=step)))
        memory = remember(found[-1])
    return found


@pytest.mark.parametrize(
    ("changes", "rung", "reason"),
    [
        ({}, 0, Reason.AMPLE),
        ({"chance_14": 0.49}, 0, Reason.AMPLE),
        ({"chance_14": 0.50}, 1, Reason.STRESS_LIKELY_14_DAYS),
        ({"chance_14": 1.0, "chance_7": 0.49}, 1, Reason.STRESS_LIKELY_14_DAYS),
        ({"chance_7": 0.50}, 2, Reason.STRESS_LIKELY_7_DAYS),
        ({"chance_14": 0.33, "critical": True}, 1, Reason.CRITICAL_14_DAYS),
        ({"chance_14": 0.32, "critical": True}, 0, Reason.AMPLE),
        ({"chance_7": 0.33, "critical": True}, 2, Reason.CRITICAL_7_DAYS),
        ({"chance_7": 0.50, "critical": True}, 2, Reason.STRESS_LIKELY_7_DAYS),
        ({"chance_14": 0.50, "critical": True}, 1, Reason.STRESS_LIKELY_14_DAYS),
        ({"chance_14": 0.9, "chance_7": 0.4, "critical": True}, 2, Reason.CRITICAL_7_DAYS),
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
    made = decide(QUIET, None, NIGHT)
    assert (made.rung, made.note, made.said_rung) == (0, False, None)


def test_a_first_night_above_ample_says_so():
    made = decide(replace(QUIET, chance_7=0.9), None, NIGHT)
    assert (made.rung, made.note, made.said_rung) == (2, True, 2)


def test_the_same_rung_again_says_nothing():
    dry = replace(QUIET, chance_7=0.9)
    assert not decide(dry, Memory(2, said_rung=2), NIGHT).note


def test_six_nights_below_hold_the_rung_and_the_seventh_lets_it_fall():
    made = climb([replace(QUIET, chance_14=0.6, chance_7=0.4)] * 7, Memory(2, said_rung=2))
    assert [night.rung for night in made] == [2] * 6 + [1]
    assert made[-1].reason is Reason.FELL_AFTER_NIGHTS
    assert not made[-1].note


def test_a_wetting_ends_a_rung_at_once():
    made = decide(replace(QUIET, chance_7=0.2), Memory(2, said_rung=2), NIGHT)
    assert (made.rung, made.reason) == (0, Reason.FELL_AFTER_WETTING)


def test_a_field_back_at_ample_is_told_after_three_nights_there():
    made = climb([QUIET] * 4, Memory(3, said_rung=3))
    assert [night.note for night in made] == [False, False, True, False]


def test_nights_at_a_lower_rung_are_no_nights_at_ample():
    made = climb([DRAWING] * 3 + [QUIET] * 3, Memory(3, said_rung=3))
    told = [(night.rung, night.note) for night in made]
    assert told[:3] == [(1, False)] * 3
    assert told[3:] == [(0, False), (0, False), (0, True)]


def test_a_return_within_a_week_to_what_was_said_is_no_news_and_a_later_one_is():
    for nights, news in ((3, False), (8, True)):
        made = climb([DRAWING] * nights + [SHORT], Memory(3, said_rung=3))
        assert made[-1].note is news


def test_a_rise_right_after_a_change_waits_and_comes_on_the_third_night():
    made = climb([DRAWING, TIGHT, TIGHT, TIGHT, TIGHT])
    assert [night.rung for night in made] == [1, 1, 1, 2, 2]
    assert [night.note for night in made] == [True, False, False, True, False]
    assert [night.reason for night in made[1:3]] == [Reason.RISE_WAITS] * 2
    assert made[3].reason is Reason.STRESS_LIKELY_7_DAYS
    assert made[4].changed_on == NIGHT + timedelta(days=3)


def test_a_rise_that_waits_and_does_not_last_is_never_told():
    made = climb([DRAWING, TIGHT, TIGHT, DRAWING, DRAWING])
    assert [night.rung for night in made] == [1] * 5
    assert [night.note for night in made] == [True, False, False, False, False]


def test_short_and_failing_do_not_wait_for_they_have_happened():
    made = climb([DRAWING, SHORT, FAILING])
    assert [night.rung for night in made] == [1, 3, 4]
    assert all(night.note for night in made)


def test_a_wetting_waits_on_the_lower_rungs_and_ends_short_at_once():
    lower = climb([TIGHT, QUIET, QUIET, QUIET])
    assert [night.rung for night in lower] == [2, 2, 2, 0]
    assert [night.reason for night in lower[1:3]] == [Reason.FALL_WAITS] * 2
    higher = climb([SHORT, QUIET])
    assert [night.rung for night in higher] == [3, 0]
    assert higher[1].reason is Reason.FELL_AFTER_WETTING


def test_a_storm_that_comes_into_the_forecast_and_leaves_it_is_told_once():
    made = climb([TIGHT, QUIET] * 6)
    rungs = [night.rung for night in made]
    assert rungs[:3] == [2, 2, 2]
    assert [night.note for night in made] == [True] + [False] * 11
    changes = [n for n in range(1, len(rungs)) if rungs[n] != rungs[n - 1]]
    assert all(b - a >= 3 for a, b in itertools.pairwise(changes))


def test_nobody_is_told_that_a_field_has_eased_while_a_rise_waits():
    made = climb([QUIET, QUIET, TIGHT, QUIET, QUIET, QUIET], Memory(3, said_rung=3))
    assert [night.rung for night in made] == [0] * 6
    assert made[2].reason is Reason.RISE_WAITS
    assert [night.note for night in made] == [False] * 5 + [True]


def test_the_waiting_counts_nights_of_the_calendar_and_not_runs():
    before = Memory(1, said_rung=1, changed_on=NIGHT)
    for later, rung in ((1, 1), (2, 1), (3, 2), (9, 2)):
        assert decide(TIGHT, before, NIGHT + timedelta(days=later)).rung == rung


def test_a_rise_held_back_is_no_change_and_has_no_date():
    before = Memory(0, changed_on=NIGHT - timedelta(days=5))
    held = held_back(decide(TIGHT, before, NIGHT), before)
    assert held.changed_on == before.changed_on
    assert decide(TIGHT, remember(held), NIGHT + timedelta(days=1)).rung == 2


@pytest.mark.parametrize(
    ("before", "after", "jump"),
    [
        (0, 1, False), (0, 2, False), (1, 2, False), (0, 3, True), (2, 3, True), (3, 4, True),
        (2, 0, False), (2, 1, False), (3, 2, False), (4, 3, False), (3, 1, True), (3, 0, True),
        (4, 2, True), (4, 0, True), (3, 3, False), (0, 0, False),
    ],
)  # fmt: skip
def test_a_jump_leads_to_or_from_the_rungs_that_rest_on_what_has_happened(before, after, jump):
    assert is_jump(before, after) is jump


def test_no_reading_from_any_memory_gives_an_exception():
    chances = (0.0, 0.2, 0.5, 1.0)
    memories = [None, *(Memory(r, b, s) for r in range(5) for b in (0, 2, 9) for s in (None, 0, 4))]
    made = [
        decide(Reading(a, b, c, d, 14.0, past_r4=False, critical=critical), memory, NIGHT)
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
    made = held_back(decide(RISEN, before, NIGHT), before)
    usual = before or Memory(0)

    assert (made.rung, made.raw_rung) == (usual.rung, 2)
    assert (made.reason, made.note) == (Reason.RAIN_NOT_KNOWN, False)
    assert (made.said_rung, made.nights_under_said) == (usual.said_rung, 0)
    assert (made.nights_below, made.changed_on) == (0, usual.changed_on)


@pytest.mark.parametrize(
    "before",
    [Memory(2, said_rung=2), Memory(3, said_rung=3), Memory(3, nights_below=2, said_rung=3)],
)
def test_a_rung_that_stays_or_falls_is_not_held_back(before):
    made = decide(RISEN, before, NIGHT)

    assert made.rung <= before.rung
    assert held_back(made, before) == made


def test_a_note_that_a_field_has_eased_is_not_held_back():
    before = Memory(0, said_rung=2, nights_under_said=2)
    made = decide(QUIET, before, NIGHT)

    assert made.note
    assert held_back(made, before) == made


def test_a_rise_that_was_held_back_comes_the_night_that_rain_is_known():
    before = Memory(0)
    held = held_back(decide(RISEN, before, NIGHT), before)
    memory = remember(held)
    made = decide(RISEN, memory, NIGHT)

    assert (made.rung, made.note, made.said_rung) == (2, True, 2)
    assert made == decide(RISEN, before, NIGHT)


def test_a_rise_held_back_for_many_nights_forgets_nothing_that_was_said():
    memory = Memory(1, said_rung=3, nights_under_said=6)
    for _ in range(10):
        held = held_back(decide(RISEN, memory, NIGHT), memory)
        memory = remember(held)

    assert memory.said_rung == 3


def test_good_news_waits_until_there_is_water_in_reach():
    dry = replace(QUIET, dry=True)

    waiting = climb([TIGHT, *[dry] * 10])
    assert waiting[-1].rung == 0
    assert not any(one.note for one in waiting[1:])
    rained = decide(QUIET, remember(waiting[-1]), NIGHT + timedelta(days=11))
    assert (rained.note, rained.said_rung) == (True, 0)


def test_a_wetting_that_is_only_foreseen_ends_no_rung():
    foreseen = replace(QUIET, dry=True)
    made = decide(foreseen, Memory(2, said_rung=2), NIGHT)
    assert (made.rung, made.reason) == (2, Reason.HELD_BY_HYSTERESIS)


def test_a_dry_field_is_still_warned_of():
    assert decide(replace(TIGHT, dry=True), None, NIGHT).note
