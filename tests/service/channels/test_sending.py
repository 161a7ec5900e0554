"""The sender with the real outbox: an address that the relay calls dead is written to no more."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest

from rootbound_service.channels.send import send_due
from rootbound_service.channels.sending import StoreOutbox
from rootbound_service.channels.transport import RefusedForGood
from rootbound_service.store.outbox import counts, enqueue
from rootbound_service.store.suppressions import suppressed
from service.channels.fakes import FakeTransport, by_mail, message

ADDRESS = "person1@holt.example"


@pytest.mark.parametrize(
    ("said", "stops"),
    [
        ("5.1.1 no such mailbox", {"all"}),
        ("5.2.1 mailbox disabled", {"all"}),
        ("5.2.2 mailbox full", set()),
        ("5.3.4 too big", set()),
        ("no", set()),
    ],
)
def test_a_dead_address_is_stopped_and_one_that_is_only_full_is_not(store, clock, said, stops):
    """RFC 3463 3.2 and 3.3."""
    late = {"not_after": None, "person_id": None}
    due = {"created_at": clock.now(), "available_at": clock.now()}
    with store.begin() as conn:
        enqueue(conn, [message(1, **late, **due), message(2, **late, **due, to_address=ADDRESS)])
    relay = FakeTransport({ADDRESS: RefusedForGood(said, 550)})
    send_due(StoreOutbox(store), by_mail(relay), clock, "me", rng=Random(1), limit=1)

    with store.connect() as conn:
        assert suppressed(conn, "email", ADDRESS) == stops
    clock.set(clock.now() + timedelta(minutes=1))
    send_due(StoreOutbox(store), by_mail(relay), clock, "me", rng=Random(1), limit=1)
    with store.connect() as conn:
        assert counts(conn)["suppressed"] == (1 if stops else 0)
