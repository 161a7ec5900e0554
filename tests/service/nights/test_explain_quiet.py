"""Why a night was silent: every rule that keeps a field silent says its name."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rootbound_service.nights.explain_quiet import Asked, why_quiet
from rootbound_service.records import NoteRecord, RiskRecord
from service.nights.rig import a_field

TODAY, NIGHT, BEFORE = date(2026, 7, 20), date(2026, 7, 10), date(2026, 7, 9)


def a_row(night: date = NIGHT, **changes) -> RiskRecord:
    usual = RiskRecord(
        season_id=1, night=night, status="watched", rung=2, raw_rung=2, free_rung=0,
        nights_below=0, said_rung=2, nights_under_said=0, reason="stress_likely_7_days",
        stage="V14", gdd_f_total=1180.0, water_in_reach_mm=12.0, free_water_mm=55.0,
        days_ahead_kind="days", days_ahead_median=6.0, days_ahead_low=3.0, days_ahead_high=9.0,
        chance_7=0.62, chance_14=0.8, stress_past_7=0.1, stress_season=0.2, reach=0.5,
        weather_through=date(2026, 7, 8),
    )  # fmt: skip
    return replace(usual, **changes)


def a_note(night: date, rung: int | None, number: int = 4) -> NoteRecord:
    return NoteRecord(1, night, None, rung, "stress_likely_7_days", {}, str(number), number)


def asked(*history: RiskRecord, **changes) -> Asked:
    usual = Asked(
        night=NIGHT, today=TODAY, field=a_field("Long Acre"), history=history,
        notes=(a_note(date(2026, 7, 5), 2),), was_run=True,
    )  # fmt: skip
    return replace(usual, **changes)


CASES = [
    # the rung stands where people know it stands
    ("same_as_said", (a_row(BEFORE), a_row()), "what was said: 2 tight, on 2026-07-05"),
    # the same without a row of its own: nothing changed beyond rounding
    ("same_as_said", (a_row(BEFORE),), "did not rise above"),
    # better than said, but not ample
    ("under_said", (a_row(BEFORE), a_row(rung=1)), "1 drawing down, is under what was said"),
    # ample since two nights
    ("eased_not_long", (a_row(BEFORE), a_row(rung=0, nights_under_said=2)), "2 night.* after 3"),
    # ample, nobody told anything
    ("ample", (a_row(rung=0, said_rung=None),), "nobody had been told anything"),
    # a rise that waits
    ("rise_waits", (a_row(BEFORE), a_row(raw_rung=3, reason="rise_waits")), "say 3 short.* waits"),
    # a rise on days whose rain nobody knows
    ("rain_not_known", (a_row(BEFORE), a_row(raw_rung=3, reason="rain_not_known")), "taken back"),
    # not up yet
    ("not_emerged", (a_row(status="waiting", rung=None, reason="not_emerged"),), "not up yet"),
    # over
    ("black_layer", (a_row(status="finished", rung=None, reason="black_layer"),), "Black layer"),
    # no outlook: never told as fine
    ("no_outlook", (a_row(status="unknown", rung=None, reason="no_outlook"),), "same as fine"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "history", "sentence"), CASES)
def test_a_silent_night_names_its_rule_and_shows_the_night(rule, history, sentence):
    found = why_quiet(asked(*history))

    assert found.rule == rule
    assert_matches(found.text, sentence)
    shown = {one.name: one.value for one in found.steps[0].figures}
    assert shown["status"] == history[-1].status


def assert_matches(text: str, pattern: str) -> None:
    with pytest.raises(ValueError, match=pattern):  # pytest's own wording of a mismatch
        raise ValueError(text)


def test_old_weather_is_told_once():
    gone = a_row(BEFORE, status="unknown", rung=None, reason="weather_too_old")

    found = why_quiet(asked(gone, replace(gone, night=NIGHT)))

    assert found.rule == "weather_too_old"
    assert found.text.endswith("is told once.")


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("not_yet", {"night": date(2026, 7, 21)}),
        ("not_planted", {"night": date(2026, 4, 20)}),
        ("never_run", {"was_run": False}),
        ("enrolled_later", {"history": (a_row(date(2026, 7, 12)),)}),
        ("enrolled_later", {"history": ()}),
        ("note", {"notes": (a_note(NIGHT, 2),)}),
    ],
)
def test_a_night_that_saw_nothing_says_so(rule, changes):
    found = why_quiet(asked(a_row(BEFORE), **changes))

    assert found.rule == rule
    assert found.steps == ()


def test_an_unchanged_night_says_of_which_night_its_figures_are():
    found = why_quiet(asked(a_row(BEFORE)))

    assert found.steps[0].title.endswith("as stored on 2026-07-09 and unchanged since")


def test_the_reading_that_decided_is_held_against_the_needed_share():
    reading = {
        "chance_14": 0.8, "chance_7": 0.42, "chance_short": 0.0, "chance_failing": 0.0,
        "collars": 9.0, "past_r4": False, "critical": True, "needed": 0.33,
    }  # fmt: skip
    found = why_quiet(asked(a_row(BEFORE), a_row(detail={"held": reading})))

    rows = {row[0]: row[3:] for row in found.steps[1].table.rows}
    assert rows["2 tight"] == (0.42, 0.33, "yes")
    assert rows["3 short"] == (0.0, 0.5, "not at this stage")
