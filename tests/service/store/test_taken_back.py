"""What a night has written, and what of it can still be taken back, on both databases."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import func, select

from rootbound_service.records import NoteRecord
from rootbound_service.store.claiming import claim, put_back
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes
from rootbound_service.store.schema import outbox, outbox_image, outbox_note
from rootbound_service.store.slices import slices
from rootbound_service.store.taken_back import messages_of_night, take_back

NIGHT = date(2026, 7, 14)


@pytest.fixture
def written(store, clock, season_id, a_message):
    """A note of tonight that waits, one that is folded, one of another night, and a digest."""
    with store.begin() as conn:
        way = contacts_of(conn)[0]
        save_notes(conn, [NoteRecord(season_id, NIGHT, 1, 2, "reason", {}, "tight")])
        own = {"person_id": way.person_id, "contact_id": way.id}
        enqueue(
            conn,
            [
                a_message(dedupe_key=f"note-1-{NIGHT}-a", note_keys=("tight",), **own),
                a_message(dedupe_key=f"note-text-1-{NIGHT}-b", status="folded", **own),
                a_message(dedupe_key="note-1-2026-07-13-a", **own),
                a_message(dedupe_key=f"digest-1-{NIGHT}-a", kind="digest", **own),
                a_message(dedupe_key=f"note-1-{NIGHT}-nobody"),
            ],
        )
    return way.id


def test_a_night_knows_what_it_wrote_and_what_that_tells(store, season_id, written):
    with store.connect() as conn:
        first, second = messages_of_night(conn, NIGHT)

    assert (first.contact_id, first.waits, first.pending) == (written, True, True)
    assert first.notes == {"tight": season_id}
    assert (second.waits, second.pending, second.notes) == (True, False, {})


def test_what_was_taken_back_is_gone_whole_and_may_be_written_again(store, written, a_message):
    with store.begin() as conn:
        ids = [one.id for one in messages_of_night(conn, NIGHT)]
        assert take_back(conn, ids) == set(ids)
        for table in (outbox, outbox_image):
            assert conn.scalar(select(func.count()).select_from(table)) == 3
        assert conn.scalar(select(func.count()).select_from(outbox_note)) == 0
        assert enqueue(conn, [a_message(dedupe_key=f"note-1-{NIGHT}-a")]) == 1


def test_what_a_sender_has_had_in_hand_stays(store, clock, written):
    with store.begin() as conn:
        claimed = claim(conn, "one", clock.now(), timedelta(minutes=10), 20)
    with store.begin() as conn:
        first, second = messages_of_night(conn, NIGHT)
        assert (first.waits, second.waits) == (False, True)
        assert take_back(conn, [first.id, second.id]) == {second.id}
    with store.begin() as conn:
        assert first.id in {one.id for one in claimed}
        later = clock.now() + timedelta(hours=1)
        assert put_back(conn, first.id, "one", later)  # untried: it was quiet there
        assert messages_of_night(conn, NIGHT)[0].waits


def test_a_long_list_is_cut_and_loses_nothing():
    assert list(slices([])) == []
    assert [len(one) for one in slices(range(11), 5)] == [5, 5, 1]
    assert [one for some in slices(range(11), 5) for one in some] == list(range(11))
