"""Notes are found by number and listed with the name of their field."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine

from rootbound_service.errors import RefusedInput
from rootbound_service.records import NoteRecord
from rootbound_service.store.fields import add_field
from rootbound_service.store.notes import find_note, notes_listed, was_run
from rootbound_service.store.risk import save_notes
from rootbound_service.store.runs import finish_run, start_run

NIGHT = date(2026, 7, 10)


def a_note(season_id: int, night: date, rung: int) -> NoteRecord:
    key = f"{season_id}/{night}"
    return NoteRecord(season_id, night, None, rung, "stress_likely_7_days", {"seed": 7}, key)


@pytest.fixture
def two(store: Engine, season_id: int, a_field) -> tuple[int, int]:
    """Two fields with three notes."""
    with store.begin() as conn:
        other = add_field(conn, a_field(name="South Forty")).season_id
        notes = [a_note(season_id, NIGHT, 2), a_note(other, NIGHT.replace(day=4), 1)]
        save_notes(conn, [*notes, a_note(other, NIGHT.replace(day=12), 3)])
    return season_id, other


def test_notes_are_listed_latest_first_without_their_evidence(store: Engine, two) -> None:
    with store.connect() as conn:
        listed = notes_listed(conn)
        own = notes_listed(conn, [two[0]])

    told = [(one.night.day, one.to_rung, name, one.evidence) for one, name in listed]
    assert told == [
        (12, 3, "South Forty", {}),
        (10, 2, "North Forty", {}),
        (4, 1, "South Forty", {}),
    ]
    assert [one.season_id for one, _ in own] == [two[0]]


@pytest.mark.usefixtures("two")
def test_a_note_is_found_by_its_number_with_its_evidence(store: Engine) -> None:
    with store.connect() as conn:
        number = notes_listed(conn)[1][0].id
        found = find_note(conn, number)

        assert (found.id, found.night, found.evidence) == (number, NIGHT, {"seed": 7})
        assert [name for _, name in notes_listed(conn, note_ids=[number])] == ["North Forty"]


def test_a_number_without_a_note_is_refused_with_where_to_look(store: Engine, season_id) -> None:
    with store.begin() as conn:
        with pytest.raises(RefusedInput, match="no note 5; no note has been decided yet"):
            find_note(conn, 5)
        save_notes(conn, [a_note(season_id, NIGHT, 2)])
        with pytest.raises(RefusedInput, match="no note 99; see rootbound notes"):
            find_note(conn, 99)


def test_only_a_night_that_was_finished_counts_as_run(store: Engine) -> None:
    now = datetime(2026, 7, 10, 9, 30, tzinfo=UTC)
    with store.begin() as conn:
        assert not was_run(conn, NIGHT)
        start_run(conn, NIGHT, now)
        assert not was_run(conn, NIGHT)
        finish_run(conn, NIGHT, now, 1, 0, "")
        assert was_run(conn, NIGHT)
