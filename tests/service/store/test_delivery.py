"""What a sender reports counts only while the message is its own, and is kept in any case."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, RowMapping, select

from rootbound_service.clock import SetClock
from rootbound_service.records import ConsentEvent, OutboxMessage, Person
from rootbound_service.store.claiming import claim
from rootbound_service.store.contacts import add_consent, contacts_of
from rootbound_service.store.delivery import (
    Taken,
    mark_dead,
    mark_retry,
    mark_sent,
    mark_unknown,
)
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import consent_event, delivery_attempt, outbox

LEASE = timedelta(minutes=10)
Mark = Callable[[Connection, int, str, datetime], bool]
MARKS: dict[str, Mark] = {
    "sent": lambda conn, one, me, now: mark_sent(conn, one, me, now, Taken("id-7")),
    "pending": lambda conn, one, me, now: mark_retry(
        conn, one, me, now, now + timedelta(minutes=5), 451, "try later"
    ),
    "dead": lambda conn, one, me, now: mark_dead(conn, one, me, now, 550, "no such box"),
    "unknown": lambda conn, one, me, now: mark_unknown(conn, one, me, now, None, "cut off"),
}


@pytest.fixture
def message_id(store: Engine, clock: SetClock, a_message: Callable[..., OutboxMessage]) -> int:
    """A message that sender one has in hand."""
    with store.begin() as conn:
        enqueue(conn, [a_message()])
        (message,) = claim(conn, "one", clock.now(), LEASE, 1)
    return message.id


def _message(conn: Connection) -> RowMapping:
    return conn.execute(select(outbox)).mappings().one()


def _attempts(conn: Connection) -> list[dict[str, Any]]:
    rows = conn.execute(select(delivery_attempt).order_by(delivery_attempt.c.id)).mappings()
    return [{name: row[name] for name in ("number", "sender", "outcome", "code")} for row in rows]


@pytest.mark.parametrize("status", sorted(MARKS))
def test_a_report_sets_the_status_and_gives_the_message_back(
    store: Engine, clock: SetClock, message_id: int, status: str
) -> None:
    with store.begin() as conn:
        assert MARKS[status](conn, message_id, "one", clock.now()) is True

        row = _message(conn)
        assert (row["status"], row["claimed_by"], row["claimed_until"]) == (status, None, None)
        assert [one["outcome"] for one in _attempts(conn)] == [status]


def test_a_message_sent_has_its_time_and_the_channels_name_for_it(
    store: Engine, clock: SetClock, message_id: int
) -> None:
    with store.begin() as conn:
        mark_sent(conn, message_id, "one", clock.now(), Taken("id-7"))
        row = _message(conn)

    assert (row["sent_at"], row["provider_id"]) == (clock.now(), "id-7")


@pytest.mark.parametrize("status", ["sent", "dead", "unknown"])
def test_a_message_done_with_is_never_given_out_again(
    store: Engine, clock: SetClock, message_id: int, status: str
) -> None:
    with store.begin() as conn:
        MARKS[status](conn, message_id, "one", clock.now())
        clock.set(clock.now() + timedelta(days=2))

        assert claim(conn, "two", clock.now(), LEASE, 20) == []


def test_a_message_sent_is_kept_with_its_headers_its_readers_time_and_what_they_agreed_to(
    store: Engine, clock: SetClock, a_message: Callable[..., OutboxMessage]
) -> None:
    with store.begin() as conn:
        ada = add_person(conn, Person("Ada", "ada@quill.example", "grower"))
        (contact,) = contacts_of(conn)
        for kind in ("restored", "withdrawn"):
            add_consent(conn, contact.id, ConsentEvent(0, kind, None, "page", "wording"))
        enqueue(conn, [a_message(person_id=ada.id, contact_id=contact.id)])
        (one,) = claim(conn, "one", clock.now(), LEASE, 1)
        taken = Taken("id-7", "Message-ID: <x@y>", "2026-07-14T06:00:00-05:00")
        mark_sent(conn, one.id, "one", clock.now(), taken)
        row = _message(conn)
        agreed = conn.scalar(
            select(consent_event.c.kind).where(consent_event.c.id == row["consent_id"])
        )

    assert (row["sent_headers"], row["sent_local"]) == (taken.headers, taken.local)
    assert agreed == "restored"


def test_a_message_put_back_is_due_again_at_its_new_time_with_its_history(
    store: Engine, clock: SetClock, message_id: int
) -> None:
    with store.begin() as conn:
        MARKS["pending"](conn, message_id, "one", clock.now())
        assert claim(conn, "two", clock.now(), LEASE, 20) == []

        clock.set(clock.now() + timedelta(minutes=5))
        (again,) = claim(conn, "two", clock.now(), LEASE, 20)
        MARKS["sent"](conn, message_id, "two", clock.now())

        assert (again.id, again.attempts) == (message_id, 2)
        assert _attempts(conn) == [
            {"number": 1, "sender": "one", "outcome": "pending", "code": 451},
            {"number": 2, "sender": "two", "outcome": "sent", "code": None},
        ]


def test_why_it_failed_is_kept_until_it_works(
    store: Engine, clock: SetClock, message_id: int
) -> None:
    with store.begin() as conn:
        MARKS["pending"](conn, message_id, "one", clock.now())
        failed = _message(conn)
        clock.set(clock.now() + timedelta(minutes=5))
        claim(conn, "one", clock.now(), LEASE, 1)
        MARKS["sent"](conn, message_id, "one", clock.now())
        worked = _message(conn)

    assert (failed["last_code"], failed["last_error"]) == (451, "try later")
    assert (worked["last_code"], worked["last_error"]) == (None, None)


@pytest.mark.parametrize("status", sorted(MARKS))
def test_a_report_after_the_lease_was_lost_changes_nothing_but_is_kept(
    store: Engine, clock: SetClock, message_id: int, status: str
) -> None:
    clock.set(clock.now() + LEASE + timedelta(seconds=1))
    with store.begin() as conn:
        claim(conn, "two", clock.now(), LEASE, 1)
        before = _message(conn)

        assert MARKS[status](conn, message_id, "one", clock.now()) is False
        assert _message(conn) == before
        held = conn.execute(select(delivery_attempt.c.sender, delivery_attempt.c.lease_held))
        assert held.all() == [("one", False)]


def test_a_late_report_counts_while_nobody_has_taken_over(
    store: Engine, clock: SetClock, message_id: int
) -> None:
    clock.set(clock.now() + 2 * LEASE)
    with store.begin() as conn:
        assert MARKS["sent"](conn, message_id, "one", clock.now()) is True


def test_a_second_report_does_not_undo_the_first(
    store: Engine, clock: SetClock, message_id: int
) -> None:
    with store.begin() as conn:
        MARKS["sent"](conn, message_id, "one", clock.now())

        assert MARKS["pending"](conn, message_id, "one", clock.now()) is False
        assert _message(conn)["status"] == "sent"


def test_a_report_on_no_message_is_false(store: Engine, clock: SetClock) -> None:
    with store.begin() as conn:
        assert MARKS["sent"](conn, 99, "one", clock.now()) is False
