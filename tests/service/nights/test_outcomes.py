"""What warnings came to: stress and rain since, by the real days alone."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np

from rootbound_service.nights.outcomes import outcomes_of
from rootbound_service.records import NoteRecord

FIRST = date(2026, 5, 1)
NIGHT = date(2026, 7, 10)
TOLD = NIGHT + timedelta(days=4)
WARNING = NoteRecord(1, NIGHT, 1, 2, "stress_likely_7_days", {}, "note-a")


@dataclass
class Season:
    """An outlook's known days: the rain of each, here its number."""

    known_through: date = NIGHT + timedelta(days=3)
    rain_mm: np.ndarray = field(
        default_factory=lambda: np.tile(np.arange(120.0)[:, None], (1, 4)) * [1, 9, 9, 9]
    )

    def day(self, when):
        return (when - FIRST).days


def stands(season_id=1, field_id=11, rung=3, stress=2.0, status="watched", outlook=None):
    risk = SimpleNamespace(
        season_id=season_id, night=TOLD, rung=rung, stress_season=stress, status=status
    )
    computed = SimpleNamespace(field=SimpleNamespace(id=field_id), outlook=outlook or Season())
    return SimpleNamespace(risk=risk, computed=computed)


def then(stress=0.5, status="watched", season_id=1, night=NIGHT):
    return {(season_id, night): SimpleNamespace(stress_season=stress, status=status)}


def test_stress_and_rain_are_those_from_the_warning_to_the_last_real_day():
    (one,) = outcomes_of([stands()], [WARNING], then())

    assert (one.field_id, one.rung, one.rung_now, one.stress) == (11, 2, 3, 1.5)
    # days 70 to 73 of the season, each with as many millimetres as its number
    assert one.rain_mm == 70 + 71 + 72 + 73


def test_before_a_real_day_has_come_nothing_is_said_of_stress():
    same = Season(known_through=NIGHT - timedelta(days=1))
    (one,) = outcomes_of([stands(outlook=same)], [WARNING], then())

    assert (one.stress, one.rain_mm) == (None, None)


def test_a_season_computed_anew_with_less_stress_has_none_since():
    (one,) = outcomes_of([stands(stress=0.4)], [WARNING], then(stress=0.5))
    assert one.stress == 0.0


def test_what_is_not_known_is_not_made_up():
    (unknown,) = outcomes_of([stands(stress=None, rung=None)], [WARNING], then())
    (no_row,) = outcomes_of([stands()], [WARNING], {})

    assert (unknown.stress, unknown.rung_now) == (None, None)
    assert no_row.stress is None


def test_only_rises_of_the_fields_at_hand_are_warnings_and_the_first_counts():
    eased = replace(WARNING, from_rung=3, to_rung=1)
    no_answer = replace(WARNING, to_rung=None)
    elsewhere = replace(WARNING, season_id=99)
    assert outcomes_of([stands()], [eased, no_answer, elsewhere], then()) == ()

    later = replace(WARNING, night=NIGHT + timedelta(days=2), from_rung=2, to_rung=3)
    (one,) = outcomes_of([stands()], [later, WARNING], then())
    assert (one.night, one.rung) == (NIGHT, 2)


def test_a_week_told_once_more_knows_nothing_of_later_warnings():
    later = replace(WARNING, night=TOLD + timedelta(days=1))
    assert outcomes_of([stands()], [later], then(night=later.night)) == ()


def test_the_worst_warning_comes_first():
    fields = [stands(1, 11), stands(2, 12)]
    notes = [WARNING, replace(WARNING, season_id=2, to_rung=4)]
    assert [one.field_id for one in outcomes_of(fields, notes, {})] == [12, 11]


def test_a_field_not_dug_and_a_season_that_is_over_are_marked():
    (one,) = outcomes_of([stands(status="finished")], [WARNING], then(status="unrated"))
    assert (one.dug, one.over) == (False, True)
