"""What feeds read of past nights, on both databases."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from rootbound_service.records import NoteRecord
from rootbound_service.store.feed_nights import finished_nights, rows_since, told_earlier
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes, save_risk
from rootbound_service.store.runs import finish_run, start_run

NIGHT = date(2026, 7, 14)
DAY = timedelta(days=1)


def ran(conn, night, at: datetime, *, finished=True):
    start_run(conn, night, at)
    if finished:
        finish_run(conn, night, at, 1, 0, "")


def test_only_nights_run_to_their_end_are_given_oldest_first(store, clock):
    now = clock.now()
    with store.begin() as conn:
        for ago in (3, 2, 1):
            ran(conn, NIGHT - ago * DAY, now - ago * DAY, finished=ago != 2)
        found = finished_nights(conn, NIGHT - 3 * DAY)

        assert found == [(NIGHT - 3 * DAY, now - 3 * DAY), (NIGHT - DAY, now - DAY)]
        assert finished_nights(conn, NIGHT - DAY) == found[1:]


def test_a_night_run_after_a_later_one_is_no_news(store, clock):
    now = clock.now()
    with store.begin() as conn:
        for ago in (2, 1, 0):
            ran(conn, NIGHT - ago * DAY, now - ago * DAY)
        ran(conn, NIGHT - DAY, now + timedelta(hours=1))

        assert [night for night, _ in finished_nights(conn, NIGHT - 5 * DAY)] == [
            NIGHT - 2 * DAY, NIGHT,
        ]  # fmt: skip


def test_the_row_that_held_on_the_first_night_begins_a_list(store, a_risk, season_id):
    with store.begin() as conn:
        steps = enumerate((1, 2, 3, 4))
        save_risk(conn, [a_risk(night=NIGHT + 3 * n * DAY, rung=rung) for n, rung in steps])

        def read(first):
            found = rows_since(conn, [season_id], first, detail=False)
            return [one.rung for one in found.get(season_id, [])]

        assert read(NIGHT + 4 * DAY) == [2, 3, 4]
        assert read(NIGHT + 3 * DAY) == [2, 3, 4]
        assert read(NIGHT - 9 * DAY) == [1, 2, 3, 4]
        assert read(NIGHT + 99 * DAY) == [4]
        assert rows_since(conn, [], NIGHT, detail=True) == {}


def test_detail_is_read_where_it_is_asked_for_and_all_else_is_the_same(store, a_risk, season_id):
    row = a_risk(night=NIGHT, detail={"ahead": {"days": {"V2": "2026-05-20"}}})
    with store.begin() as conn:
        save_risk(conn, [row])
        (whole,) = rows_since(conn, [season_id], NIGHT, detail=True)[season_id]
        (short,) = rows_since(conn, [season_id], NIGHT, detail=False)[season_id]

    assert whole == short == row
    assert (whole.detail, short.detail) == (row.detail, {})


@pytest.fixture
def a_told_note(store, a_message, season_id, clock):
    """Tell a note of tonight by a letter; the run is done at the same moment."""

    def tell(status="watched", key="note-a", rung=3):
        evidence = {"status": status} if status else {}
        with store.begin() as conn:
            save_notes(conn, [NoteRecord(season_id, NIGHT, 1, rung, "ample", evidence, key)])
            letter = a_message(dedupe_key=f"letter-{key}", note_keys=(key,))
            enqueue(conn, [replace(letter, created_at=clock.now())])
            ran(conn, NIGHT, clock.now())

    return tell


def test_what_letters_said_counts_once_its_night_was_run_again(
    store, a_told_note, season_id, clock
):
    a_told_note()
    first = clock.now()
    with store.begin() as conn:
        assert told_earlier(conn, [season_id], NIGHT) == {}
        ran(conn, NIGHT, first + timedelta(hours=2))
        (told,) = told_earlier(conn, [season_id], NIGHT)[season_id]

        assert (told.night, told.at, told.rung, told.status) == (NIGHT, first, 3, "watched")
        assert told_earlier(conn, [season_id], NIGHT + DAY) == {}
        assert told_earlier(conn, [season_id + 1], NIGHT) == {}


def test_whose_roots_a_note_was_about_is_kept_with_it(store, a_told_note, season_id, clock):
    a_told_note(status="unrated")
    a_told_note(status="", key="note-b", rung=None)
    with store.begin() as conn:
        ran(conn, NIGHT, clock.now() + timedelta(hours=2))

        assert [one.status for one in told_earlier(conn, [season_id], NIGHT)[season_id]] == [
            "unrated"
        ]
