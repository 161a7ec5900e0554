"""The sender against an outbox that remembers: every fate, nothing lost."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest

from rootbound_service.channels.retry import LATER, WAITS, wait
from rootbound_service.channels.send import SendReport, send_due
from rootbound_service.channels.transport import (
    ChannelRefused,
    NobodyKnows,
    NotNow,
    RefusedForGood,
    Unreachable,
)
from rootbound_service.clock import SetClock
from service.channels.fakes import FakeOutbox, FakeTransport, by_mail, message
from service.notes.cast import NOW


def send(outbox, transport, clock=None, **more) -> SendReport:
    more = {"rng": Random(1), "me": "sender-1"} | more
    return send_due(outbox, by_mail(transport), clock or SetClock(NOW), more.pop("me"), **more)


def test_what_is_due_is_sent_and_marked_with_the_relays_name_for_it():
    outbox, relay = FakeOutbox(message(1), message(2)), FakeTransport()
    report = send(outbox, relay)

    assert report == SendReport(sent=2)
    assert outbox.sent == {1: "queued 1", 2: "queued 2"}
    assert relay.closed == 1


def test_a_dead_address_stops_nobody_else():
    relay = FakeTransport({"person1@holt.example": RefusedForGood("5.1.1 no such mailbox", 550)})
    outbox = FakeOutbox(message(1), message(2))

    assert send(outbox, relay) == SendReport(sent=1, dead=1)
    assert outbox.dead == {1: (550, "5.1.1 no such mailbox")}


def test_a_busy_server_is_tried_again_within_a_minute_the_first_time():
    relay = FakeTransport({"person1@holt.example": NotNow("4.3.0 busy", 451)})
    outbox = FakeOutbox(message(1))

    assert send(outbox, relay) == SendReport(retried=1)
    ((number, again, code, _),) = outbox.retried
    assert (number, code) == (1, 451)
    assert NOW < again <= NOW + timedelta(minutes=WAITS[0])


@pytest.mark.parametrize(("attempts", "longest"), [*enumerate(WAITS, 1), (6, LATER), (40, LATER)])
def test_waits_grow_with_full_jitter(attempts, longest):
    """Reference: 1, 5, 15, 60, 180 min, then every 6 h."""
    rng = Random(7)
    drawn = [wait(attempts, rng) / timedelta(minutes=1) for _ in range(400)]

    assert max(drawn) <= longest
    assert max(drawn) > 0.9 * longest
    assert min(drawn) < 0.2 * longest


def test_a_note_that_would_come_too_late_is_given_up_and_says_so():
    relay = FakeTransport({"person1@holt.example": NotNow("4.3.0 busy", 451)})
    outbox = FakeOutbox(message(1, attempts=9, not_after=NOW + timedelta(seconds=1)))

    assert send(outbox, relay) == SendReport(dead=1)
    assert "too late" in outbox.dead[1][1]


def test_a_relay_that_refuses_us_stops_the_channel_and_keeps_every_message():
    relay = FakeTransport({"person2@holt.example": ChannelRefused("5.7.1 denied", 550)})
    outbox = FakeOutbox(message(1), message(2), message(3))

    report = send(outbox, relay)

    assert report == SendReport(sent=1, retried=1, waiting=1, stopped={"email": "5.7.1 denied"})
    assert set(outbox.waiting) == {2, 3}
    assert outbox.leases == {}
    assert relay.tried == ["person1@holt.example", "person2@holt.example"]
    # what was not tried stays due; what was refused lets the others go first
    assert outbox.waiting[3].available_at == NOW
    assert outbox.waiting[2].available_at > NOW
    assert relay.closed == 1


def test_a_relay_that_does_not_answer_is_asked_once_a_batch():
    down = Unreachable("no connection: ConnectionRefusedError")
    relay = FakeTransport({f"person{n}@holt.example": down for n in (1, 2, 3)})
    outbox = FakeOutbox(message(1), message(2), message(3))

    assert send(outbox, relay) == SendReport(retried=1, waiting=2)
    assert relay.tried == ["person1@holt.example"]
    assert [outbox.waiting[n].attempts for n in (1, 2, 3)] == [1, 0, 0]


def test_a_note_of_unknown_fate_is_tried_once_more_and_then_left_to_the_operator():
    relay = FakeTransport({"person1@holt.example": NobodyKnows("no answer after the message")})
    outbox, clock = FakeOutbox(message(1)), SetClock(NOW)

    assert send(outbox, relay, clock) == SendReport(retried=1)
    clock.set(NOW + timedelta(hours=1))
    assert send(outbox, relay, clock) == SendReport(unknown=1)
    assert len(relay.tried) == 2


def test_a_digest_of_unknown_fate_is_not_sent_twice():
    relay = FakeTransport({"person1@holt.example": NobodyKnows("no answer after the message")})
    outbox = FakeOutbox(message(1, kind="digest"))

    assert send(outbox, relay) == SendReport(unknown=1)


def test_a_message_that_cannot_be_written_is_dead_at_once_and_the_next_is_sent():
    outbox, relay = FakeOutbox(message(1, to_address="@"), message(2)), FakeTransport()

    assert send(outbox, relay) == SendReport(sent=1, dead=1)
    assert "cannot be written" in outbox.dead[1][1]


def test_a_lease_that_ran_out_is_counted_and_the_message_not_marked():
    class Slow(FakeTransport):
        def send(self, raw, sender, to):
            outbox.leases[1] = ("sender-2", NOW + timedelta(hours=1))
            return super().send(raw, sender, to)

    outbox = FakeOutbox(message(1))

    assert send(outbox, Slow()) == SendReport(lost=1)
    assert outbox.sent == {}


def test_no_message_is_begun_near_the_end_of_the_lease():
    clock = SetClock(NOW)

    class Slow(FakeTransport):
        def send(self, raw, sender, to):
            clock.set(clock.now() + timedelta(minutes=6))
            return super().send(raw, sender, to)

    outbox = FakeOutbox(*(message(n) for n in range(1, 6)))
    report = send(outbox, Slow(), clock, lease=timedelta(minutes=15))

    assert report == SendReport(sent=2, waiting=3)
    assert {number: one.attempts for number, one in outbox.waiting.items()} == {3: 0, 4: 0, 5: 0}
    assert outbox.leases == {}


def test_a_lost_sender_loses_nothing_and_the_double_has_the_same_message_id():
    class Killed(FakeTransport):
        def send(self, raw, sender, to):
            super().send(raw, sender, to)
            raise KeyboardInterrupt  # handed over, then the process ends before the mark

    outbox, first, second = FakeOutbox(message(1)), Killed(), FakeTransport()
    with pytest.raises(KeyboardInterrupt):
        send(outbox, first)
    report = send(outbox, second, SetClock(NOW + timedelta(hours=1)), me="sender-2")

    assert report == SendReport(sent=1)
    ids = {mail["Message-ID"] for _, mail in first.taken + second.taken}
    assert len(ids) == 1


def test_later_messages_point_to_the_first_of_their_thread():
    outbox, relay = FakeOutbox(message(2)), FakeTransport()
    outbox.first_key = message(1).dedupe_key
    send(outbox, relay)

    assert relay.taken[0][1]["References"] is not None


def test_an_empty_outbox_opens_no_connection():
    relay = FakeTransport()

    assert send(FakeOutbox(), relay).total == 0
    assert relay.tried == []
