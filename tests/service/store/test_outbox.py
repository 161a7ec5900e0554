"""The outbox takes a message once and gives it to one sender at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import StatementError

from rootbound_service.clock import SetClock
from rootbound_service.errors import ServiceError
from rootbound_service.records import NoteRecord, OutboxMessage, Person
from rootbound_service.store.claiming import claim
from rootbound_service.store.delivery import Taken, mark_sent
from rootbound_service.store.outbox import counts, enqueue, first_message_key
from rootbound_service.store.people import add_person
from rootbound_service.store.risk import save_notes

MessageMaker = Callable[..., OutboxMessage]
LEASE = timedelta(minutes=10)


def _claimed(store: Engine, clock: SetClock, me: str = "one", limit: int = 20) -> list[str]:
    with store.begin() as conn:
        return [one.dedupe_key for one in claim(conn, me, clock.now(), LEASE, limit)]


def _counts(store: Engine) -> dict[str, int]:
    with store.connect() as conn:
        return {status: count for status, count in counts(conn).items() if count}


def test_a_message_comes_back_whole(
    store: Engine, clock: SetClock, season_id: int, a_message: MessageMaker
) -> None:
    note = NoteRecord(season_id, date(2026, 7, 10), 2, 3, "reason", {}, "north-forty/3")
    images = {"chart": b"\x89PNG\x00", "bars": b"\x00\xff"}
    with store.begin() as conn:
        person_id = add_person(conn, Person("Ada", "ada@quill.example", "grower")).id
        save_notes(conn, [note, replace(note, dedupe_key="a second")])
        keys = ("a second", "north-forty/3")
        message = a_message(person_id=person_id, images=images, note_keys=keys, thread_key="t")
        enqueue(conn, [message])
    with store.begin() as conn:
        (claimed,) = claim(conn, "one", clock.now(), LEASE, 20)

    assert claimed.attempts == 1
    assert replace(claimed, id=0, attempts=0) == message


def test_a_message_is_taken_in_once(store: Engine, a_message: MessageMaker) -> None:
    with store.begin() as conn:
        assert enqueue(conn, [a_message(), a_message(dedupe_key="note-2")]) == 2
        assert enqueue(conn, [a_message(subject="again")]) == 0

    assert _counts(store) == {"pending": 2}


def test_a_message_and_its_decision_are_kept_together_or_not_at_all(
    store: Engine, a_message: MessageMaker
) -> None:
    stray = a_message(note_keys=("never stored",))
    with (
        pytest.raises(ServiceError, match=r"note-1 carries notes .*\['never stored'\]"),
        store.begin() as conn,
    ):
        enqueue(conn, [stray])

    assert _counts(store) == {}


def test_a_message_with_a_time_of_no_zone_is_refused(
    store: Engine, a_message: MessageMaker
) -> None:
    naive = a_message().created_at.replace(tzinfo=None)
    with pytest.raises(StatementError, match="has no time zone"), store.begin() as conn:
        enqueue(conn, [a_message(created_at=naive)])


def test_a_message_in_hand_is_not_given_out_again(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message()])

    assert _claimed(store, clock, "one") == ["note-1"]
    assert _claimed(store, clock, "two") == []
    assert _counts(store) == {"sending": 1}


def test_urgent_messages_go_first_then_the_older(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    early = clock.now() - timedelta(hours=1)
    with store.begin() as conn:
        enqueue(
            conn,
            [
                a_message(dedupe_key="digest", priority=7, available_at=early),
                a_message(dedupe_key="later", priority=1),
                a_message(dedupe_key="sooner", priority=1, available_at=early),
                a_message(dedupe_key="operator", priority=0),
            ],
        )

    assert _claimed(store, clock, limit=3) == ["operator", "sooner", "later"]
    assert _claimed(store, clock) == ["digest"]


def test_a_message_is_not_due_before_its_time(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    due = clock.now() + timedelta(minutes=5)
    with store.begin() as conn:
        enqueue(conn, [a_message(available_at=due)])

    assert _claimed(store, clock) == []
    clock.set(due)
    assert _claimed(store, clock) == ["note-1"]


def test_a_message_too_old_expires_instead_of_going_out(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    last = clock.now() + timedelta(hours=24)
    with store.begin() as conn:
        enqueue(conn, [a_message(not_after=last), a_message(dedupe_key="note-2")])
    clock.set(last + timedelta(seconds=1))

    assert _claimed(store, clock) == ["note-2"]
    assert _counts(store) == {"expired": 1, "sending": 1}


def test_a_message_goes_out_up_to_its_last_moment(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message(not_after=clock.now())])

    assert _claimed(store, clock) == ["note-1"]


def test_what_a_lost_sender_had_in_hand_is_given_out_when_its_lease_has_run_out(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    keys = [f"note-{number}" for number in range(5)]
    with store.begin() as conn:
        enqueue(conn, [a_message(dedupe_key=key) for key in keys])
    assert _claimed(store, clock, "killed", limit=3) == keys[:3]  # and it never marks them

    clock.set(clock.now() + LEASE)
    assert _claimed(store, clock, "two", limit=1) == keys[3:4]
    clock.set(clock.now() + timedelta(seconds=1))
    with store.begin() as conn:
        taken = claim(conn, "two", clock.now(), LEASE, 20)

    assert {one.dedupe_key: one.attempts for one in taken} == dict.fromkeys(keys[:3], 2) | {
        keys[4]: 1
    }


def test_a_sender_that_dies_before_its_commit_has_taken_nothing(
    store: Engine, clock: SetClock, a_message: MessageMaker
) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message()])
    with store.connect() as conn:
        claim(conn, "killed", clock.now(), LEASE, 20)
        conn.rollback()

    assert _claimed(store, clock, "two") == ["note-1"]


def test_a_thread_begins_with_its_first_message(store: Engine, a_message: MessageMaker) -> None:
    early = a_message().created_at - timedelta(days=3)
    with store.begin() as conn:
        one = add_person(conn, Person("Ada", "ada@quill.example", "grower")).id
        two = add_person(conn, Person("Ben", "ben@marsh.example", "adviser")).id
        enqueue(
            conn,
            [
                a_message(dedupe_key="later", thread_key="t", person_id=one),
                a_message(dedupe_key="first", thread_key="t", person_id=one, created_at=early),
                a_message(dedupe_key="second", thread_key="t", person_id=two, created_at=early),
                a_message(dedupe_key="no thread"),
            ],
        )

        assert first_message_key(conn, "t") == "first"
        assert first_message_key(conn, "t", person_id=two) == "second"
        assert first_message_key(conn, "another") is None
        assert first_message_key(conn, "") is None


def test_every_status_is_counted(store: Engine, clock: SetClock, a_message: MessageMaker) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message(), a_message(dedupe_key="note-2")])
        (first,) = claim(conn, "one", clock.now(), LEASE, 1)
        mark_sent(conn, first.id, "one", clock.now(), Taken())

        assert counts(conn) == {
            "pending": 1,
            "sending": 0,
            "sent": 1,
            "dead": 0,
            "expired": 0,
            "unknown": 0,
            "suppressed": 0,
            "folded": 0,
            "dropped": 0,
        }
