"""One night after another: who is told what, how often, and what a repeated night changes."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from sqlalchemy import select

from rootbound_service.records import DigRecord
from rootbound_service.store.schema import outbox
from service.nights.rig import DRY, INES, MAREN, NORTH, WET, YEAR, Rig, a_field, a_rig, seasons

QUIET, CLIMB = date(YEAR, 6, 28), date(YEAR, 7, 2)
"""A night of water enough under DRY, and one on which every field has left ample."""


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, DRY) as made:
        yield made


def kept(rig: Rig):
    """Messages as stored, pictures aside."""
    with rig.service.engine.connect() as conn:
        rows = conn.execute(select(outbox).order_by(outbox.c.id)).mappings()
        return [(row["dedupe_key"], row["subject"], row["text"]) for row in rows]


def test_a_rise_is_told_once_to_the_grower_and_once_to_the_adviser(rig):
    rig.enrol(a_field("Long Acre"))
    before, on, after = map(rig.night, (QUIET, CLIMB, CLIMB + timedelta(days=1)))
    rig.send()

    assert (before.notes, on.notes, after.notes) == (0, 1, 0)
    assert (before.messages, on.messages, after.messages) == (0, 2, 0)
    (note,) = rig.notes()
    assert (note.from_rung, note.to_rung, note.reason) == (
        None,
        1,
        "stress_in_critical_window_14_days",
    )
    (row,) = [one for one in rig.rows("Long Acre") if one.night == CLIMB]
    inches = f"{row.water_in_reach_mm / 25.4:.1f}"
    for person in (MAREN, INES):
        assert rig.subjects(person.email) == [
            f"Drawing down: Long Acre - {inches} in of water in reach"
        ]
    assert 0.5 < float(inches) < 3.0


def test_a_night_run_again_leaves_the_same_rows_and_sends_nothing_twice(rig):
    rig.enrol(a_field("Long Acre"), a_field("Church Forty", digs=()))
    rig.night(QUIET)
    rig.night(CLIMB)
    first = (rig.rows("Long Acre"), rig.rows("Church Forty"), rig.notes(), kept(rig))

    again = rig.night(CLIMB)
    rig.send()

    assert (again.notes, again.messages) == (2, 0)
    assert (rig.rows("Long Acre"), rig.rows("Church Forty"), rig.notes(), kept(rig)) == first
    assert len(rig.box.received) == 2


def test_a_field_that_comes_to_a_repeated_night_does_not_tell_the_others_again(rig):
    rig.enrol(a_field("Long Acre"))
    rig.night(CLIMB)
    rig.send()
    rig.enrol(a_field("Late Comer"))

    assert rig.night(CLIMB).messages == 2
    texts = [text for _, _, text in kept(rig)]
    assert ["Long Acre" in text for text in texts] == [True, True, False, False]


def test_each_rise_is_told_with_the_rung_it_came_from_and_ample_after_rain_once(tmp_path):
    play = seasons(date(YEAR, 6, 25), date(YEAR, 7, 4), soaking_mm=60.0)
    with a_rig(tmp_path, play) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.nights(date(YEAR, 6, 30), date(YEAR, 7, 28))

        moves = [(note.from_rung, note.to_rung) for note in rig.notes()]
        assert moves[:2] == [(None, 1), (1, 2)]
        assert moves[-1][1] == 0
        assert [to for _, to in moves].count(0) == 1
        assert rig.row("Long Acre").rung == 0


def test_a_rung_that_falls_short_of_ample_is_not_told(tmp_path):
    play = seasons(date(YEAR, 6, 25), date(YEAR, 7, 12), soaking_mm=34.0)
    with a_rig(tmp_path, play) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.nights(date(YEAR, 7, 9), date(YEAR, 7, 24))

        rows = rig.rows("Long Acre")
        falls = {b.night for a, b in pairwise(rows) if 0 < b.rung < a.rung}
        assert falls
        assert not falls & {note.night for note in rig.notes()}


def test_a_crash_while_the_night_is_stored_leaves_nothing_and_the_next_run_all_of_it(
    rig, monkeypatch
):
    rig.enrol(a_field("Long Acre"))

    def broken(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("rootbound_service.nights.record.enqueue", broken)
        with pytest.raises(OSError, match="No space"):
            rig.night(CLIMB)
    assert (rig.rows("Long Acre"), rig.notes(), kept(rig)) == ([], [], [])

    assert rig.night(CLIMB).messages == 2
    assert len(rig.notes()) == 1


def test_a_crash_between_the_night_and_the_sending_loses_nothing(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.night(CLIMB)
    with a_rig(tmp_path, DRY) as again:  # another process, the same folder
        again.at(CLIMB)

        assert again.send() == 2
        assert len(again.box.to(INES.email)) == 1


def test_a_field_without_a_dig_is_unrated_and_its_note_says_that_free_roots_are_meant(rig):
    rig.enrol(a_field("Church Forty", digs=()))
    rig.night(CLIMB)
    rig.send()

    row = rig.row("Church Forty")
    assert (row.status, row.rung, row.days_ahead_kind) == ("unrated", 1, "none")
    assert "no dig yet" in rig.text_to(MAREN.email)


def test_a_dig_entered_late_counts_from_the_next_night_on(rig):
    rig.enrol(a_field("Long Acre", digs=()), a_field("Church Forty", digs=()))
    rig.night(date(YEAR, 6, 26))
    rig.dig("Long Acre", DigRecord(date(YEAR, 5, 28), 3, plants=5, crossing=2, held=48))
    rig.night(date(YEAR, 6, 27))

    was, now = rig.rows("Long Acre")
    assert (was.status, now.status) == ("unrated", "watched")
    assert now.reach < 1.0
    assert rig.row("Church Forty").status == "unrated"


def test_a_dig_of_a_later_day_does_not_count_yet(rig):
    rig.enrol(a_field("Long Acre", digs=(DigRecord(date(YEAR, 6, 27), 3, plants=5),)))
    rig.nights(date(YEAR, 6, 26), date(YEAR, 6, 27))

    assert [row.status for row in rig.rows("Long Acre")] == ["unrated", "watched"]


def test_a_field_to_be_planted_next_year_does_not_end_the_watch_of_this_one(rig):
    field = a_field("Long Acre")
    rig.enrol(field, a_field("Long Acre", planted=date(YEAR + 1, 4, 28), digs=()))
    report = rig.night(date(YEAR, 6, 26))

    assert report.fields_ok == 1
    with rig.service.engine.connect() as conn:
        from rootbound_service.store.risk import risk_on

        (row,) = risk_on(conn, date(YEAR, 6, 26)).values()
    assert row.status == "watched"


def test_a_field_not_up_yet_waits_and_nobody_is_told(rig):
    rig.enrol(a_field("Long Acre", planted=date(YEAR, 6, 24), digs=()))
    reports = rig.nights(date(YEAR, 6, 24), date(YEAR, 6, 26))

    assert {row.status for row in rig.rows("Long Acre")} == {"waiting"}
    assert [report.messages for report in reports] == [0, 0, 0]


def test_a_finished_field_is_quiet_for_good_and_asks_for_no_weather(tmp_path):
    with a_rig(tmp_path, seasons(None, date(YEAR, 1, 1), years=4)) as rig:
        rig.enrol(a_field("Long Acre", planted=date(YEAR - 1, 4, 28), digs=()))
        done = rig.night(date(YEAR - 1, 9, 30))
        row = rig.row("Long Acre")
        rig.sky.queries.clear()
        later = rig.night(date(YEAR, 3, 1))

        assert (row.status, row.stage, row.rung) == ("finished", "R6", None)
        assert (done.messages, later.messages, later.fields_failed) == (0, 0, 0)
        assert rig.sky.queries == []
        assert rig.rows("Long Acre") == [row]  # no row where nothing changed


def test_a_field_that_is_finished_stays_so_when_its_weather_grows_old(tmp_path):
    with a_rig(tmp_path, seasons(None, date(YEAR, 1, 1), years=4)) as rig:
        rig.enrol(a_field("Long Acre", planted=date(YEAR - 1, 4, 28), digs=()))
        rig.night(date(YEAR - 1, 9, 30))
        rig.sky.faults.extend(["500"])
        report = rig.night(date(YEAR - 1, 10, 25))

        assert rig.row("Long Acre").status == "finished"
        assert report.fields_failed == 0


def test_the_same_inputs_give_the_same_night_in_another_house(tmp_path):
    found = []
    for folder in ("one", "two"):
        with a_rig(tmp_path / folder, DRY) as rig:
            rig.enrol(a_field("Long Acre"), a_field("Far", NORTH, digs=()))
            rig.night(CLIMB)
            found.append((rig.row("Long Acre"), rig.row("Far"), rig.notes(), kept(rig)))

    assert found[0] == found[1]


def test_in_a_wet_season_nobody_hears_anything(tmp_path):
    with a_rig(tmp_path, WET) as rig:
        rig.enrol(a_field("Church Forty", digs=(DigRecord(date(YEAR, 5, 28), 0, plants=3),)))
        rig.nights(date(YEAR, 6, 8), date(YEAR, 6, 22))

        assert rig.notes() == []
        assert {row.days_ahead_median for row in rig.rows("Church Forty")} <= {None, 0.0}
