"""A field whose weather stays away: it is told once, shown as unknown, and comes back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from service.nights.rig import DRY, INES, MAREN, NORTH, OPERATOR, WET, YEAR, a_field, a_rig, seasons

LAST_GOOD = date(YEAR, 6, 20)
"""The last night on which weather comes; it tells of days up to the 17th."""
STALE = LAST_GOOD + timedelta(days=8)
"""The first night more than ten days after the last real weather."""


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, DRY) as made:
        made.enrol(a_field("Long Acre"), a_field("Far", NORTH))
        made.night(LAST_GOOD)
        yield made


def darken(rig, first, last, fault="500"):
    """Nights on which the cell of Long Acre fails, the other going on; their reports."""
    reports = []
    for step in range((last - first).days + 1):
        rig.sky.faults.extend([fault, ""])
        reports.append(rig.night(first + timedelta(days=step)))
        rig.send()
    return reports


def test_old_weather_makes_a_field_unknown_and_its_people_are_told_once(rig):
    reports = darken(rig, LAST_GOOD + timedelta(days=1), STALE + timedelta(days=2))

    status = {row.night: row.status for row in rig.rows("Long Acre")}
    assert status[STALE - timedelta(days=1)] == "watched"
    assert {status[night] for night in status if night >= STALE} == {"unknown"}
    assert rig.row("Long Acre").reason == "weather_too_old"
    assert rig.row("Far").status == "watched"
    assert [report.fields_failed for report in reports] == [0] * 7 + [1] * 3
    for person in (MAREN, INES):
        told = [one for one in rig.box.to(person.email) if "Long Acre" in one.mail["Subject"]]
        assert [one.mail["Subject"] for one in told] == ["No answer: Long Acre"]
        words = told[0].mail.get_body(("plain",)).get_content()
        assert "No answer. The last real weather is too old." in " ".join(words.split())


def test_the_operator_reads_every_night_what_is_wrong_and_whom_it_touches(rig):
    darken(rig, LAST_GOOD + timedelta(days=1), LAST_GOOD + timedelta(days=2))
    said = "NASA POWER, cell nasa_power:263-136: is not well (HTTP 500); "

    assert rig.subjects(OPERATOR) == [
        "Night of 2026-06-21: every field has an answer, but not all went well",
        "Night of 2026-06-22: every field has an answer, but not all went well",
    ]
    goes_on = said + "1 field goes on with the weather stored through 2026-06-17"
    assert goes_on in " ".join(rig.text_to(OPERATOR).split())

    darken(rig, STALE, STALE)
    assert rig.subjects(OPERATOR)[-1] == "Night of 2026-06-28: 1 field without an answer"
    silent = said + "no answer for Long Acre, last real weather 2026-06-17"
    assert silent in " ".join(rig.text_to(OPERATOR).split())


def test_answers_without_a_value_are_no_error_until_they_make_a_field_unknown(rig):
    quiet = darken(rig, LAST_GOOD + timedelta(days=1), STALE - timedelta(days=1), "all_fill")
    (told,) = darken(rig, STALE, STALE, "all_fill")

    assert [report.failures for report in quiet] == [()] * 7
    assert told.failures == ("Long Acre: the last real weather is of 2026-06-17, over 10 days old",)
    assert rig.subjects(OPERATOR) == ["Night of 2026-06-28: 1 field without an answer"]


def test_a_field_comes_back_with_the_weather_and_is_told_only_what_is_new(tmp_path):
    with a_rig(tmp_path, WET) as rig:
        rig.enrol(a_field("Long Acre"), a_field("Far", NORTH))
        rig.night(LAST_GOOD)
        darken(rig, STALE, STALE)
        before = len(rig.box.to(MAREN.email))
        report = rig.night(STALE + timedelta(days=1))
        rig.send()

        row = rig.row("Long Acre")
        assert (before, row.status, row.rung, report.failures) == (1, "watched", 0, ())
        assert len(rig.box.to(MAREN.email)) == before  # ample before, ample again


def test_a_rung_that_was_told_before_the_gap_is_not_told_again_after_it(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre"), a_field("Far", NORTH))
        rig.nights(date(YEAR, 7, 1), date(YEAR, 7, 4))
        known = rig.row("Long Acre").said_rung
        darken(rig, date(YEAR, 7, 12), date(YEAR, 7, 13))
        assert rig.row("Long Acre").status == "unknown"
        told = len(rig.notes())
        rig.night(date(YEAR, 7, 14))

        mine = rig.row("Long Acre")
        assert known == mine.rung == 2
        assert not [note for note in rig.notes()[told:] if note.season_id == mine.season_id]

        rig.night(date(YEAR, 7, 15))
        mine = rig.row("Long Acre")
        new = [note for note in rig.notes()[told:] if note.season_id == mine.season_id]
        assert [(note.from_rung, note.to_rung) for note in new] == [(2, mine.rung)]
        assert mine.rung > 2  # it has risen, and that is news


def test_gaps_in_the_last_fortnight_make_a_field_unknown_too(rig):
    play = rig.sky.play
    first = (date(YEAR, 6, 18) - date(YEAR - 3, 1, 1)).days
    play.columns["rain_mm"][first : first + 4] = float("nan")
    try:
        report = rig.night(date(YEAR, 6, 26))
    finally:
        play.columns["rain_mm"][first : first + 4] = 24.0
    assert "Long Acre: 4 of the last 14 days of weather are missing" in report.failures
    assert rig.row("Long Acre").reason == "weather_patchy"


def test_people_hear_once_that_too_many_days_are_missing_even_if_the_weather_then_ages(rig):
    play = rig.sky.play
    first = (date(YEAR, 6, 18) - date(YEAR - 3, 1, 1)).days
    kept = play.columns["rain_mm"].copy()
    play.columns["rain_mm"][first : first + 4] = float("nan")
    try:
        for step in range(3):
            rig.night(date(YEAR, 6, 26) + timedelta(days=step))
            rig.send()
        darken(rig, date(YEAR, 7, 6), date(YEAR, 7, 7))
    finally:
        play.columns["rain_mm"][:] = kept

    reasons = {row.night: row.reason for row in rig.rows("Long Acre")}
    assert reasons[date(YEAR, 6, 26)] == "weather_patchy"
    assert rig.row("Long Acre").reason == "weather_too_old"
    told = [one for one in rig.subjects(MAREN.email) if "answer" in one]
    assert told == ["No answer: Far and 1 more"]


def test_a_new_cell_whose_first_answer_is_empty_stops_no_other(rig):
    rig.enrol(a_field("Away", (43.0, -91.0)))
    rig.sky.faults.extend(["", "", *["all_fill"] * 6])
    report = rig.night(LAST_GOOD + timedelta(days=1))

    assert (report.fields_ok, report.fields_failed) == (2, 1)
    assert report.failures == ("Away: no weather is stored for its cell yet",)
    assert rig.row("Away").status == "unknown"


def test_a_season_whose_first_months_are_missing_has_no_answer_and_no_false_drought(tmp_path):
    """Missing rain counts as none, so nothing may be said of such a season."""
    play = seasons(None, date(YEAR, 8, 4))
    first = (date(YEAR, 5, 1) - date(YEAR - 3, 1, 1)).days
    for column in play.columns.values():
        column[first : first + 20] = float("nan")
    with a_rig(tmp_path, play) as rig:
        rig.enrol(a_field("Long Acre"))
        report = rig.night(LAST_GOOD)

        assert report.failures == ("Long Acre: 20 days of this season's weather are missing",)
        row = rig.row("Long Acre")
        assert (row.status, row.rung, row.reason) == ("unknown", None, "weather_patchy")
