"""One field's night decided: the row, the note, and what is remembered for the next night."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace

import pytest

from rootbound_rules.risk.ladder import Reading, Reason
from rootbound_service.nights import decide as room
from rootbound_service.nights import news
from rootbound_service.nights.decide import decide
from rootbound_service.nights.parts import Computed
from rootbound_service.records import ObservationRecord
from service.nights.rig import a_field

NIGHT = date(2026, 7, 10)
QUIET = Reading(0.0, 0.0, 0.0, 0.0, collars=14.0, past_r4=False, critical=False)
DRAWING = replace(QUIET, chance_14=0.6)
TIGHT = replace(QUIET, chance_14=0.9, chance_7=0.9)
SHORT = replace(TIGHT, chance_short=0.9)
FIELD = replace(a_field("Long Acre"), id=3, season_id=7)


@dataclass(frozen=True)
class Assessed:
    """As much of an assessment as a decision looks at."""

    held: Reading
    free: Reading
    stage: str = "V14"
    gdd_f_total: float = 1300.0
    water_in_reach_mm: float = 30.0
    free_water_mm: float = 60.0
    ahead: object = None
    stress_past_7: float = 0.0
    free_stress_past_7: float = 0.0
    stress_season: float = 0.0
    reach: float = 0.6


@dataclass(frozen=True)
class NoAhead:
    kind: str = "neither"
    median: float | None = None
    low: float | None = None
    high: float | None = None


def computed(held=QUIET, free=QUIET, status="watched", field=FIELD, rain_assumed=0):
    """A field as it comes from computing; ``None`` for a night without an answer."""
    if status == "unknown":
        return Computed(field, "unknown", failure="Long Acre: no weather")
    cell = SimpleNamespace(
        patched=SimpleNamespace(rain_assumed=rain_assumed), known_through=NIGHT, key="x:1-1"
    )
    return Computed(field, status, None, cell, Assessed(held, free, ahead=NoAhead()))


def live(*nights, before=None):
    """Decide night after night; each is what ``computed`` gives."""
    found = []
    for step, one in enumerate(nights):
        found.append(decide(one, before, NIGHT + timedelta(days=step)))
        before = stored(found[-1].risk)
    return found


def stored(row):
    """A row as it comes back from the store: its detail has been JSON."""
    return replace(row, detail=json.loads(json.dumps(row.detail)))


def told(found):
    return [one.note is not None for one in found]


def test_a_change_has_its_date_and_keeps_it_while_nothing_changes():
    found = live(computed(), computed(TIGHT), computed(TIGHT), computed(TIGHT))
    assert [one.risk.changed_on for one in found] == [None, *[NIGHT + timedelta(days=1)] * 3]


def test_a_rise_waits_over_the_store_and_is_not_lost():
    found = live(computed(DRAWING), computed(TIGHT), computed(TIGHT), computed(TIGHT))
    assert [one.risk.rung for one in found] == [1, 1, 1, 2]
    assert found[1].risk.reason == "rise_waits"
    assert told(found) == [True, False, False, True]
    assert (found[3].note.from_rung, found[3].note.to_rung) == (1, 2)


def test_the_detail_says_what_both_twins_read_what_was_needed_and_what_came_of_it():
    critical = replace(QUIET, chance_7=0.4, chance_14=0.7, critical=True)
    (one,) = live(computed(critical, DRAWING))
    detail = json.loads(json.dumps(one.risk.detail))
    assert detail["held"]["chance_7"] == 0.4
    assert (detail["held"]["needed"], detail["free"]["needed"]) == (0.33, 0.5)
    assert (detail["held"]["raw_rung"], detail["free"]["raw_rung"]) == (2, 1)
    assert detail["held"]["raw_reason"] == "stress_in_critical_window_7_days"
    assert (detail["free"]["rung"], detail["cause"], detail["note"]) == (1, "both", True)


def test_twins_that_read_the_same_stand_on_the_same_rung_on_every_night():
    flicker = [TIGHT, QUIET, DRAWING, SHORT, QUIET, DRAWING, TIGHT, DRAWING, QUIET, TIGHT]
    nights = [computed(one, one) for one in flicker]
    nights[4:4] = [computed(status="unknown")] * 2
    for one in live(*nights):
        assert one.risk.free_rung == one.risk.rung


def test_the_free_rung_falls_as_late_as_the_held_one_so_that_roots_are_not_blamed():
    found = live(*[computed(TIGHT, TIGHT)] * 4, computed(TIGHT, replace(DRAWING, chance_7=0.4)))
    assert (found[-1].risk.rung, found[-1].risk.free_rung) == (2, 2)
    assert found[-1].risk.detail["cause"] == "general"


def test_a_row_of_an_older_version_goes_on_from_its_free_rung():
    old = replace(live(computed(TIGHT, TIGHT))[0].risk, detail={})
    (one,) = live(computed(TIGHT, replace(DRAWING, chance_7=0.4)), before=old)
    assert one.risk.free_rung == 2


def test_after_nights_without_weather_the_ladder_goes_on_from_what_was_shown():
    found = live(computed(TIGHT), *[computed(QUIET)] * 3, computed(status="unknown"), computed())
    assert [one.risk.rung for one in found] == [2, 2, 2, 0, None, 0]
    assert found[-1].risk.said_rung == 2
    assert found[-1].risk.reason == "ample"


def test_unknown_rain_holds_back_both_twins():
    found = live(computed(), computed(TIGHT, TIGHT, rain_assumed=1))
    assert (found[1].risk.rung, found[1].risk.free_rung) == (0, 0)
    assert found[1].risk.reason == "rain_not_known"


def harvest(day):
    when = datetime(2026, 7, 12, 12, tzinfo=UTC)
    return ObservationRecord("harvest", day, None, "Maren", when, id=1)


def test_a_harvested_field_is_over_from_its_day_on_whatever_the_weather():
    cut = replace(FIELD, observations=(harvest(NIGHT + timedelta(days=1)),))
    nights = (computed(TIGHT, field=cut), computed(SHORT, field=cut), computed(status="unknown"))
    nights = (*nights[:2], replace(nights[2], field=cut))
    found = live(*nights)
    assert [one.risk.status for one in found] == ["watched", "finished", "finished"]
    assert [one.risk.reason for one in found[1:]] == ["harvested"] * 2
    assert told(found) == [True, False, False]
    assert found[2].computed.failure is None


def test_a_harvest_that_is_taken_back_puts_the_field_on_the_ladder_again():
    cut = replace(FIELD, observations=(harvest(NIGHT),))
    found = live(computed(TIGHT, field=cut), computed(TIGHT))
    assert [one.risk.status for one in found] == ["finished", "watched"]
    assert found[1].risk.rung == 2


def test_black_layer_is_over_for_good_even_without_weather():
    found = live(computed(TIGHT), computed(TIGHT, status="finished"), computed(status="unknown"))
    assert [one.risk.status for one in found] == ["watched", "finished", "finished"]
    assert found[2].risk.reason == "black_layer"


def test_losing_the_weather_is_told_once_and_remembers_what_was_said():
    found = live(computed(TIGHT), *[computed(status="unknown")] * 3, computed(TIGHT))
    assert told(found) == [True, True, False, False, False]
    assert found[1].note.to_rung is None
    assert found[3].risk.said_rung == 2


@pytest.fixture
def roots(monkeypatch):
    """What the outlook says of the roots; set by the test, night by night."""
    says = SimpleNamespace(free=False, held=False)
    monkeypatch.setattr(news, "grown_free", lambda *_: says.free)
    monkeypatch.setattr(news, "held_again", lambda *_: says.held)
    monkeypatch.setattr(room, "evidence_of", lambda *_: {})
    return says


def seen(*args, **kwargs):
    """A computed field with an outlook, which only the roots' news look at."""
    return replace(computed(*args, **kwargs), outlook=SimpleNamespace())


def test_growing_free_is_told_once_a_season_with_its_own_reason(roots):
    (before,) = live(seen())
    roots.free = True
    found = live(seen(), seen(), seen(), before=before.risk)
    assert told(found) == [True, False, False]
    assert [one.risk.said_free for one in found] == [True] * 3
    note = found[0].note
    assert (note.reason, note.from_rung, note.to_rung) == ("grown_free", None, 0)
    assert found[0].risk.detail["news"] == "grown_free"
    assert found[0].risk.said_rung is None  # nothing was said of a rung


def test_a_change_of_rung_goes_first_and_carries_the_news(roots):
    roots.free = True
    found = live(seen(TIGHT, TIGHT), seen(TIGHT, TIGHT))
    assert told(found) == [True, False]
    assert found[0].note.reason == Reason.STRESS_LIKELY_7_DAYS
    assert found[0].risk.detail["news"] == "grown_free"
    assert found[0].risk.said_free


def test_the_news_alone_has_one_key_a_season_and_with_a_rung_another_than_the_rung_alone(roots):
    roots.free = True
    first, later = (decide(seen(), None, NIGHT + timedelta(days=i)).note for i in (0, 1))
    assert first.dedupe_key == later.dedupe_key
    both = decide(seen(TIGHT, TIGHT), None, NIGHT).note
    roots.free = False
    rung = decide(seen(TIGHT, TIGHT), None, NIGHT).note
    assert len({first.dedupe_key, both.dedupe_key, rung.dedupe_key}) == 3


def test_an_unrated_field_cannot_grow_free(roots):
    roots.free = True
    assert told(live(seen(status="unrated"))) == [False]


def test_what_was_said_of_free_roots_outlasts_nights_without_weather(roots):
    roots.free = True
    found = live(seen(), computed(status="unknown"), seen())
    assert told(found) == [True, True, False]  # the middle one says that there is no answer
    assert found[2].risk.said_free


def test_roots_found_held_after_all_are_told_once_and_make_no_room_for_more_good_news(roots):
    roots.free = True
    first = live(seen())[0]
    roots.free, roots.held = False, True
    found = live(seen(), seen(), computed(status="unknown"), seen(), before=stored(first.risk))
    assert told(found) == [True, False, True, False]
    assert found[0].note.reason == "held_again"
    roots.free, roots.held = True, False
    again = live(seen(), before=stored(found[-1].risk))
    assert told(again) == [False]


def test_a_night_run_again_decides_the_same(roots):
    roots.free = True
    before = live(seen(DRAWING))[0].risk
    once, again = (decide(seen(TIGHT, TIGHT), before, NIGHT + timedelta(days=1)) for _ in "12")
    assert (once.risk, once.risk.detail, once.note) == (again.risk, again.risk.detail, again.note)
