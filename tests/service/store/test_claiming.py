"""What is not given out: what its reader stopped or never agreed to; and what a hand may change."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from rootbound_service.records import ConsentEvent, Contact, Person
from rootbound_service.store.claiming import (
    claim,
    drop_pending,
    put_back,
    retry_now,
    still_wanted,
)
from rootbound_service.store.contacts import put_contact
from rootbound_service.store.delivery import mark_dead
from rootbound_service.store.outbox import counts, enqueue
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import outbox
from rootbound_service.store.suppressions import lift, suppress

LEASE = timedelta(minutes=10)
MAIL, NUMBER = "ada@quill.example", "+15550100123"


def claimed(store, clock, **more):
    with store.begin() as conn:
        return [one.dedupe_key for one in claim(conn, "one", clock.now(), LEASE, 20, **more)]


def status(store):
    with store.connect() as conn:
        rows = conn.execute(select(outbox.c.dedupe_key, outbox.c.status))
        return {row.dedupe_key: row.status for row in rows}


def put(store, *messages):
    with store.begin() as conn:
        enqueue(conn, messages)


def number_of_ada(store, *, agreed: bool) -> int:
    with store.begin() as conn:
        ada = add_person(conn, Person("Ada Quill", MAIL, "grower"))
        consent = ConsentEvent(0, "given", None, "command", "May we text you?", "yes")
        contact = Contact(ada.id, "text", NUMBER)
        return put_contact(conn, contact, consent if agreed else None).id


@pytest.mark.parametrize(
    ("scope", "gone"), [("all", {"note", "digest"}), ("note", {"note"}), ("digest", {"digest"})]
)
def test_what_its_reader_stopped_is_suppressed_at_the_claim(store, clock, a_message, scope, gone):
    kinds = ["note", "digest", "operator", "answer"]
    put(store, *(a_message(dedupe_key=kind, kind=kind) for kind in kinds))
    with store.begin() as conn:
        suppress(conn, "email", MAIL.upper(), scope, "stop", clock.now())

    assert set(claimed(store, clock)) == set(kinds) - gone
    assert {key for key, what in status(store).items() if what == "suppressed"} == gone


def test_whoever_starts_again_is_sent_to_again(store, clock, a_message):
    put(store, a_message())
    with store.begin() as conn:
        suppress(conn, "email", MAIL, "all", "stop", clock.now())
        lift(conn, "email", MAIL, "all", "start", clock.now())

    assert claimed(store, clock) == ["note-1"]


def test_a_stop_between_claim_and_send_still_counts(store, clock, a_message):
    put(store, a_message())
    with store.begin() as conn:
        (one,) = claim(conn, "one", clock.now(), LEASE, 20)
        assert still_wanted(conn, one, "one")
        suppress(conn, "email", MAIL, "note", "stop", clock.now())
        assert not still_wanted(conn, one, "one")

    assert status(store) == {"note-1": "suppressed"}


def test_a_text_goes_only_where_consent_is_on_record(store, clock, a_message):
    contact = number_of_ada(store, agreed=False)
    text = {"channel": "text", "to_address": NUMBER, "contact_id": contact}
    put(store, a_message(**text), a_message(dedupe_key="answer", kind="answer", **text))

    assert claimed(store, clock) == ["answer"]
    assert status(store)["note-1"] == "suppressed"


def test_a_text_that_was_agreed_to_goes(store, clock, a_message):
    contact = number_of_ada(store, agreed=True)
    put(store, a_message(channel="text", to_address=NUMBER, contact_id=contact))

    assert claimed(store, clock) == ["note-1"]


def test_only_messages_of_the_channel_asked_for_are_given_out(store, clock, a_message):
    put(store, a_message(), a_message(dedupe_key="t", channel="text", kind="answer"))

    assert claimed(store, clock, channel="text") == ["t"]
    assert status(store) == {"note-1": "pending", "t": "sending"}


def test_a_folded_message_is_never_given_out(store, clock, a_message):
    put(store, a_message(status="folded"))

    assert claimed(store, clock) == []


def test_what_is_put_back_untried_counts_no_attempt(store, clock, a_message):
    put(store, a_message())
    later = clock.now() + timedelta(hours=9)
    with store.begin() as conn:
        (one,) = claim(conn, "one", clock.now(), LEASE, 20)
        assert not put_back(conn, one.id, "another", later)
        assert put_back(conn, one.id, "one", later)
    assert claimed(store, clock) == []

    clock.set(later)
    with store.begin() as conn:
        assert [one.attempts for one in claim(conn, "one", later, LEASE, 20)] == [1]


def test_what_was_given_up_can_be_sent_again_by_hand(store, clock, a_message):
    put(store, a_message(not_after=clock.now()), a_message(dedupe_key="in hand"))
    with store.begin() as conn:
        dead, held = (one.id for one in claim(conn, "one", clock.now(), LEASE, 20))
        mark_dead(conn, dead, "one", clock.now(), 550, "no such box")
        clock.set(clock.now() + timedelta(minutes=5))
        until = clock.now() + timedelta(hours=1)
        assert retry_now(conn, [dead, held], clock.now(), until) == 1

    assert claimed(store, clock) == ["note-1"]


def test_what_is_in_a_senders_hand_or_sent_is_not_dropped(store, clock, a_message):
    put(store, a_message(), a_message(dedupe_key="note-2", available_at=clock.now() + LEASE))
    with store.begin() as conn:
        claim(conn, "one", clock.now(), LEASE, 20)
        ids = conn.scalars(select(outbox.c.id)).all()
        assert drop_pending(conn, ids, "the field was sold") == 1
        assert counts(conn)["dropped"] == 1

    assert status(store) == {"note-1": "sending", "note-2": "dropped"}
