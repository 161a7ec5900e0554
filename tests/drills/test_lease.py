"""What a sender that was killed had in hand is sent, whatever the clock did since."""

from __future__ import annotations

from datetime import timedelta

import pytest
import structlog.testing

from rootbound_service.records import OutboxMessage
from rootbound_service.store.claiming import claim
from rootbound_service.store.outbox import enqueue

LEASE = timedelta(minutes=15)


@pytest.fixture
def in_hand(store, clock):
    """A message that a sender took, and never came back to."""
    now = clock.now()
    message = OutboxMessage(
        dedupe_key="note-1", kind="note", channel="email", person_id=None,
        to_address="maren@holt.example", to_name="Maren Holt", subject="Tight: Long Acre",
        text="Long Acre is tight.\n", html="", images={}, created_at=now,
        available_at=now - timedelta(days=3), not_after=now + timedelta(hours=36),
    )  # fmt: skip
    with store.begin() as conn:
        enqueue(conn, [message])
        assert len(claim(conn, "killed", now, LEASE, 20)) == 1
    return store


@pytest.mark.parametrize("back", [timedelta(hours=2), timedelta(days=2)])
def test_a_lease_from_before_the_clock_was_set_back_holds_up_nobody(in_hand, clock, back):
    with in_hand.begin() as conn, structlog.testing.capture_logs() as log:
        taken = claim(conn, "next", clock.now() - back, LEASE, 20)

    assert [one.dedupe_key for one in taken] == ["note-1"]
    assert [(one["event"], one["messages"]) for one in log] == [("messages_taken_over", 1)]


def test_a_lease_that_runs_is_left_alone(in_hand, clock):
    with in_hand.begin() as conn:
        assert claim(conn, "next", clock.now() - timedelta(minutes=5), LEASE, 20) == []
