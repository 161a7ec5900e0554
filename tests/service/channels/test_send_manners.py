"""What keeps the sender from annoying: nights, those who stopped, and waits it was asked for."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

from rootbound_service.channels.send import SendReport, send_due
from rootbound_service.channels.transport import NobodyKnows, NotNow
from rootbound_service.clock import SetClock
from service.channels.fakes import FakeOutbox, FakeTransport, by_mail, message

ZONE = "America/Chicago"
EVENING = datetime(2026, 7, 15, 1, 30, tzinfo=UTC)
"""Half past eight in the evening there."""
MORNING = datetime(2026, 7, 15, 13, 0, tzinfo=UTC)
"""Eight in the morning there."""
ONE = "person1@holt.example"


def due(number: int, **changes):
    times = {"available_at": EVENING - timedelta(days=1), "not_after": None}
    return message(number, **(times | {"quiet_zone": ZONE} | changes))


def send(outbox, transport, at):
    return send_due(outbox, by_mail(transport), SetClock(at), "one", rng=Random(1))


def test_nobody_is_written_to_at_night_and_waiting_is_no_attempt():
    outbox, relay = FakeOutbox(due(1)), FakeTransport()

    assert send(outbox, relay, EVENING) == SendReport(waiting=1)
    assert relay.tried == []
    assert (outbox.waiting[1].available_at, outbox.waiting[1].attempts) == (MORNING, 0)
    assert send(outbox, relay, MORNING) == SendReport(sent=1)


def test_what_has_no_quiet_zone_goes_at_any_hour():
    assert send(FakeOutbox(due(1, quiet_zone="")), FakeTransport(), EVENING) == SendReport(sent=1)


def test_a_retry_that_would_come_at_night_comes_in_the_morning():
    late = EVENING - timedelta(minutes=30, seconds=1)  # a second before eight in the evening
    outbox = FakeOutbox(due(1))
    send(outbox, FakeTransport({ONE: NotNow("busy", 429, after_s=600)}), late)

    assert outbox.retried[0][1] == MORNING


def test_a_wait_that_was_asked_for_is_obeyed():
    outbox = FakeOutbox(due(1))
    send(outbox, FakeTransport({ONE: NotNow("busy", 429, after_s=7200)}), MORNING)

    assert outbox.retried[0][1] == MORNING + timedelta(hours=2)


def test_whoever_stopped_since_the_claim_is_not_written_to():
    outbox, relay = FakeOutbox(due(1), due(2)), FakeTransport()
    outbox.stopped = {1}

    assert send(outbox, relay, MORNING) == SendReport(sent=1, suppressed=1)
    assert relay.tried == ["person2@holt.example"]


def test_a_digest_of_unknown_fate_goes_again_where_the_other_side_knows_doubles():
    outbox = FakeOutbox(due(1, kind="digest"))
    lost = NobodyKnows("no answer", safe_again=True)

    assert send(outbox, FakeTransport({ONE: lost}), MORNING) == SendReport(retried=1)


def test_a_message_sent_is_kept_with_its_headers_and_its_readers_time():
    outbox = FakeOutbox(due(1))
    send(outbox, FakeTransport(), MORNING)

    assert outbox.taken[1].local == "2026-07-15T08:00:00-05:00"
    assert "Message-ID: <" in outbox.taken[1].headers
