"""A season that is over: warned and come, worked out by hand in each test."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from rootbound_rules.tables import load_table
from rootbound_service.errors import RefusedInput
from rootbound_service.nights.season_end import season_end
from rootbound_service.nights.season_end_days import days_of, mark
from rootbound_service.nights.season_end_shapes import Days, Lead, SeasonPast
from rootbound_service.records import DigRecord, NoteRecord, ObservationRecord

PLANTED = date(2026, 5, 1)
RIPE = date(2026, 9, 15)
SILK = date(2026, 7, 20)
LENGTH = (RIPE - PLANTED).days + 1


def season(held=(), free=(), **more):
    """A season without stress but for some days: (first day, how many, stress of each)."""
    rows = []
    for spells in (held, free):
        row = [0.0] * LENGTH
        for first, many, each in spells:
            at = (first - PLANTED).days
            row[at : at + many] = [each] * many
        rows.append(row)
    days = days_of(PLANTED, *rows)
    usual = SeasonPast(
        7, "North Forty", "Ada Quill", "maize", PLANTED, days, silk=SILK, black_layer=RIPE
    )
    return replace(usual, **more)


def note(night, to, before=1):
    return NoteRecord(7, night, before, to, "stress_likely_7_days", {}, f"note-{night}-{to}")


def saw(kind, day, value):
    return ObservationRecord(kind, day, value, "Ada", datetime(2026, 10, 1, tzinfo=UTC))


JULY = (date(2026, 7, 10), 10, 0.5)
"""Half a day's stress from 10 July on: 2.0 after the 13th, passed on the 14th."""


def test_stress_sets_in_where_the_rules_say_it_does():
    assert mark() == load_table("ladder").number("onset_days") == 2.0

    end = season_end(season(held=[JULY]))

    assert end.first_stress == date(2026, 7, 14)
    assert (end.held, end.free, end.first_free, end.spared) == (5.0, 0.0, None, True)


def test_a_warning_before_the_stress_is_a_hit_with_its_days():
    notes = (note(date(2026, 7, 4), 2), note(date(2026, 7, 11), 3, 2))
    end = season_end(season(held=[JULY], notes=notes))

    assert (end.lead_tight, end.lead_short) == (Lead("warned", 10), Lead("warned", 3))
    assert (end.hits, end.misses) == (1, 0)
    (warning,) = end.warnings
    assert (warning.night, warning.last, warning.rung) == (notes[0].night, notes[1].night, 3)
    assert (warning.stress, warning.came) == (5.0, "came")


def test_stress_without_a_note_is_a_miss():
    end = season_end(season(held=[JULY]))
    assert (end.hits, end.misses, end.warnings) == (0, 1, ())
    assert end.lead_tight == Lead("never")


def test_a_note_on_drawing_down_is_no_warning():
    end = season_end(season(held=[JULY], notes=(note(date(2026, 7, 10), 1, 0),)))
    assert (end.misses, end.warnings) == (1, ())


def test_a_note_after_the_stress_is_late_and_does_not_undo_the_miss():
    end = season_end(season(held=[JULY], notes=(note(date(2026, 7, 17), 3),)))
    assert (end.lead_tight, end.misses) == (Lead("late", -3), 1)


@pytest.mark.parametrize(("before", "hits"), [(0, 1), (21, 1), (22, 0)])
def test_a_note_counts_from_the_day_itself_to_21_days_before(before, hits):
    told = date(2026, 7, 14) - timedelta(days=before)
    end = season_end(season(held=[JULY], notes=(note(told, 2),)))
    assert (end.hits, end.misses) == (hits, 1 - hits)


def test_a_warning_taken_back_before_the_stress_led_to_nothing():
    notes = (
        note(date(2026, 6, 1), 2),
        note(date(2026, 6, 5), 0, 2),
        note(date(2026, 7, 12), 2),
    )
    end = season_end(season(held=[JULY], notes=notes))
    assert end.lead_tight == Lead("warned", 2)
    assert [one.came for one in end.warnings] == ["not_came", "came"]


@pytest.mark.parametrize(
    ("gauge", "came"), [(0.0, "not_came"), (9.9, "not_came"), (10.0, "rain_came")]
)
def test_nothing_after_a_warning_is_a_false_alarm_unless_ten_millimetres_came(gauge, came):
    seen = (saw("rain", date(2026, 7, 5), gauge),)
    end = season_end(season(notes=(note(date(2026, 7, 1), 2),), seen=seen))
    assert [(one.came, one.water_mm) for one in end.warnings] == [(came, gauge)]
    assert (end.first_stress, end.lead_tight, end.spells) == (None, None, ())


def test_rain_after_the_window_holds_nothing_off():
    rain = {date(2026, 7, 22): 40.0}  # the 22nd day of a warning of 1 July
    end = season_end(season(notes=(note(date(2026, 7, 1), 2),), rain_mm=rain))
    assert end.warnings[0].came == "not_came"


def test_a_gauge_goes_before_the_grid_and_watering_adds():
    day = date(2026, 7, 5)
    seen = (saw("rain", day, 2.0), saw("irrigation", day, 5.0), saw("irrigation", day, 4.0))
    end = season_end(season(notes=(note(date(2026, 7, 1), 2),), seen=seen, rain_mm={day: 30.0}))
    assert (end.warnings[0].water_mm, end.warnings[0].came) == (11.0, "rain_came")


def test_stress_short_of_the_mark_is_a_false_alarm_too():
    end = season_end(season(held=[(date(2026, 7, 5), 4, 0.5)], notes=(note(date(2026, 7, 1), 2),)))
    assert (end.warnings[0].stress, end.warnings[0].came) == (2.0, "not_came")
    assert end.first_stress is None


def test_two_spells_are_judged_each_by_its_own_warning():
    august = (date(2026, 8, 20), 6, 0.5)  # 2.0 after the 23rd, passed on the 24th
    end = season_end(season(held=[JULY, august], notes=(note(date(2026, 7, 4), 2),)))

    assert [(one.passed, one.warned) for one in end.spells] == [
        (date(2026, 7, 14), True),
        (date(2026, 8, 24), False),
    ]
    assert (end.hits, end.misses, end.first_stress) == (1, 1, date(2026, 7, 14))


def test_a_break_of_a_week_parts_two_spells_and_a_shorter_one_does_not():
    first = (date(2026, 7, 1), 3, 1.0)  # to 3 July
    near, far = (date(2026, 7, 10), 3, 1.0), (date(2026, 7, 11), 3, 1.0)
    assert len(season_end(season(held=[first, near])).spells) == 1
    assert len(season_end(season(held=[first, far])).spells) == 2


def test_stress_from_the_first_day_sets_in_once_the_mark_is_passed():
    end = season_end(season(held=[(PLANTED, LENGTH, 1.0)], free=[(PLANTED, LENGTH, 1.0)]))
    assert end.first_stress == end.first_free == PLANTED + timedelta(days=2)
    assert (len(end.spells), end.spared) == (1, False)


def test_a_season_of_nothing_has_nothing():
    end = season_end(season())
    assert (end.held, end.free, end.unknown) == (0.0, 0.0, 0)
    assert (end.warnings, end.spells, end.leaves, end.lead_tight) == ((), (), (), None)


def test_days_that_are_missing_could_have_been_the_stress():
    past = season(notes=(note(date(2026, 7, 1), 2),))
    gap = date(2026, 7, 8)
    without = Days(*({d: v for d, v in one.items() if d != gap} for one in (past.days.held,) * 2))
    end = season_end(replace(past, days=without))
    assert (end.warnings[0].came, end.unknown) == ("not_known", 1)


def test_early_days_that_are_missing_are_counted_and_in_no_sum():
    first = date(2026, 6, 1)
    row = [0.0] * ((RIPE - first).days + 1)
    end = season_end(season(days=days_of(first, row, row)))
    assert end.unknown == 31


def test_after_black_layer_or_harvest_nothing_can_come_and_nothing_is_missing():
    told = note(RIPE - timedelta(days=3), 2)
    assert season_end(season(notes=(told,))).warnings[0].came == "not_came"

    past = season(held=[JULY], seen=(saw("harvest", date(2026, 7, 12), None),))
    cut = season_end(past)
    assert (cut.held, cut.first_stress, cut.harvested) == (1.5, None, date(2026, 7, 12))


def test_stress_is_shared_out_by_the_critical_window_around_silk():
    # silk on 20 July: the window is 6 July to 10 August
    held = [(date(2026, 7, 5), 2, 0.5), (date(2026, 8, 10), 3, 1.0)]
    end = season_end(season(held=held, free=[(date(2026, 8, 11), 1, 0.25)]))

    assert [(one.part, one.held, one.free, one.roots) for one in end.parts] == [
        ("before_silk", 0.5, 0.0, 0.5),
        ("around_silk", 1.5, 0.0, 1.5),
        ("after_silk", 2.0, 0.25, 1.75),
    ]
    assert season_end(season(held=held, silk=None)).parts == ()


def test_leaves_agree_or_not_with_the_stress_of_their_day():
    assert load_table("belief").number("rolled.middle_stress") == 0.1
    on, off = date(2026, 7, 12), date(2026, 6, 12)
    looks = [(on, 1), (on, 0), (off, 1), (off, 0), (date(2026, 11, 1), 1)]
    seen = tuple(saw("rolled", day, value) for day, value in looks)

    end = season_end(season(held=[JULY], seen=seen))
    assert [one.agrees for one in end.leaves] == [True, False, False, True, None]


def test_the_next_planting_is_advised_only_where_a_wall_cost_something():
    dug = (DigRecord(date(2026, 5, 25), 2, soil_moisture="wet"),)
    wall = season_end(season(held=[JULY], digs=dug))
    assert [row.id for row in wall.actions] == ["next_planter"]
    assert (wall.wall_class, wall.moisture) == (2, "wet")

    assert season_end(season(digs=dug)).actions == ()
    assert season_end(season(held=[JULY], free=[JULY], digs=dug)).actions == ()
    assert season_end(season(held=[JULY], digs=dug, crop="sorghum")).actions == ()


@pytest.mark.parametrize(
    ("held", "free", "said"),
    [([0.0], [0.0, 0.0], "1 days"), ([1.5], [0.0], "1.5"), ([-0.2], [0.0], "-0.2")],
)
def test_days_that_cannot_be_are_refused_by_name(held, free, said):
    with pytest.raises(RefusedInput) as caught:
        days_of(PLANTED, held, free)
    assert said in caught.value.problems[0].what
