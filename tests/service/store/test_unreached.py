"""A warning that reached nobody is told later, and what was given up is shown to the operator."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import select, update

from rootbound_service.errors import RefusedInput
from rootbound_service.records import NoteRecord
from rootbound_service.store.claiming import claim
from rootbound_service.store.delivery import mark_dead, mark_retry, mark_unknown
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes
from rootbound_service.store.schema import outbox, person
from rootbound_service.store.unreached import dead_letters, one_message, unreached

LEASE = timedelta(minutes=10)
NIGHT = date(2026, 7, 14)


@pytest.fixture
def ada(store, season_id) -> int:
    """The grower of a field with two notes, ``a`` and ``b``."""
    with store.begin() as conn:
        notes = [NoteRecord(season_id, NIGHT, 1, 2, "reason", {}, key) for key in ("a", "b")]
        save_notes(conn, notes)
        return conn.scalars(select(person.c.id).order_by(person.c.id)).first()


def put(conn, message, status):
    enqueue(conn, [message])
    this = update(outbox).where(outbox.c.dedupe_key == message.dedupe_key)
    conn.execute(this.values(status=status))


def missed(conn, ada, since):
    return [(one.status, one.channel) for one in unreached(conn, ada, since)]


@pytest.mark.parametrize(
    ("status", "counts"),
    [
        ("expired", True),
        ("dead", True),
        ("folded", True),
        ("dropped", True),
        ("sent", False),
        ("pending", False),
        ("sending", False),
        ("unknown", False),  # it may have arrived
        ("suppressed", False),  # their own wish
    ],
)
def test_what_ended_unsent_is_still_to_be_told(store, clock, ada, a_message, status, counts):
    with store.begin() as conn:
        put(conn, a_message(person_id=ada, note_keys=("a",)), status)

        assert missed(conn, ada, clock.now()) == ([(status, "email")] if counts else [])
        assert missed(conn, ada, clock.now() + timedelta(seconds=1)) == []
        assert missed(conn, ada + 1, clock.now()) == []


def test_a_note_that_came_by_another_channel_was_told(store, clock, ada, a_message):
    with store.begin() as conn:
        text = a_message(channel="text", person_id=ada, note_keys=("a", "b"))
        put(conn, text, "folded")
        put(conn, a_message(dedupe_key="mail", person_id=ada, note_keys=("a",)), "sent")
        (left,) = unreached(conn, ada, clock.now())

    assert (left.channel, left.night, left.to_rung, left.status) == ("text", NIGHT, 2, "folded")


def test_a_note_missed_by_two_channels_is_told_once(store, clock, ada, a_message):
    with store.begin() as conn:
        put(conn, a_message(person_id=ada, note_keys=("a",)), "dead")
        put(
            conn, a_message(dedupe_key="t", channel="text", person_id=ada, note_keys=("a",)), "dead"
        )

        assert len(unreached(conn, ada, clock.now())) == 1


def test_what_was_given_up_since_a_moment_is_told_to_the_operator(store, clock, a_message):
    keys = ("dead", "unknown", "later")
    with store.begin() as conn:
        enqueue(conn, [a_message(dedupe_key=key, subject=key) for key in keys])
        ids = [one.id for one in claim(conn, "one", clock.now(), LEASE, 20)]
        mark_dead(conn, ids[0], "one", clock.now(), 550, "no such box")
        mark_unknown(conn, ids[1], "one", clock.now(), None, "cut off")
        mark_retry(conn, ids[2], "one", clock.now(), clock.now(), 451, "busy")
        found = dead_letters(conn, clock.now() - timedelta(seconds=1))

        assert [(one.subject, one.last_code) for one in found] == [("dead", 550), ("unknown", None)]
        assert dead_letters(conn, clock.now()) == []


def test_a_message_is_shown_with_every_try(store, clock, a_message):
    with store.begin() as conn:
        enqueue(conn, [a_message()])
        (one,) = claim(conn, "one", clock.now(), LEASE, 20)
        mark_retry(conn, one.id, "one", clock.now(), clock.now(), 451, "busy")
        claim(conn, "two", clock.now(), LEASE, 20)
        mark_dead(conn, one.id, "one", clock.now(), 550, "late report")
        shown, tries = one_message(conn, one.id)

    assert (shown.status, shown.attempts) == ("sending", 2)
    assert [(try_.number, try_.code, try_.lease_held) for try_ in tries] == [
        (1, 451, True),
        (2, 550, False),
    ]


def test_no_such_message_is_said(store):
    with store.connect() as conn, pytest.raises(RefusedInput, match="no message 7"):
        one_message(conn, 7)
