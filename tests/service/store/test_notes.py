"""Notes are kept once, with their evidence to the digit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Engine

from rootbound_service.records import NoteRecord
from rootbound_service.store.risk import notes_between, save_notes


@pytest.fixture
def a_note(season_id: int) -> NoteRecord:
    """A note that the usual field went up to short."""
    evidence: dict[str, object] = {"seed": 7, "water_in_reach_mm": 0.1 + 0.2, "members": [1.5]}
    night = date(2026, 7, 10)
    return NoteRecord(season_id, night, 2, 3, "stress_likely_7_days", evidence, "north-forty/3")


def test_a_note_comes_back_with_its_evidence(store: Engine, a_note: NoteRecord) -> None:
    with store.begin() as conn:
        assert save_notes(conn, [a_note]) == 1
        (stored,) = notes_between(conn, a_note.night, a_note.night)

    assert stored.id > 0
    assert replace(stored, id=0) == a_note


def test_a_note_decided_again_stays_as_it_was_said(store: Engine, a_note: NoteRecord) -> None:
    with store.begin() as conn:
        save_notes(conn, [a_note])
        new = save_notes(conn, [replace(a_note, evidence={"seed": 8})])
        (stored,) = notes_between(conn, a_note.night, a_note.night)

    assert new == 0
    assert stored.evidence == a_note.evidence


def test_the_notes_of_a_week_include_both_ends_oldest_first(
    store: Engine, a_note: NoteRecord
) -> None:
    notes = [
        replace(a_note, night=date(2026, 7, day), dedupe_key=f"day {day}")
        for day in (12, 6, 5, 13, 9)
    ]
    with store.begin() as conn:
        save_notes(conn, notes)
        week = notes_between(conn, date(2026, 7, 6), date(2026, 7, 12))

    assert [note.night.day for note in week] == [6, 9, 12]
