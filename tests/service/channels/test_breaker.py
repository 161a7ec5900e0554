"""A channel that fails is left alone for longer and longer, and then tried with one message."""

from __future__ import annotations

from random import Random

from rootbound_service.channels.breaker import (
    LONGEST,
    PATIENCE,
    PAUSE,
    after_failure,
    after_success,
    allowed,
)
from rootbound_service.channels.send import SendReport, send_due
from rootbound_service.channels.transport import ChannelRefused, Unreachable
from rootbound_service.clock import SetClock
from rootbound_service.store.channel_state import ChannelState
from service.channels.fakes import FakeOutbox, FakeTransport, by_mail, message
from service.notes.cast import NOW

DOWN = Unreachable("no connection")


def failed(times: int, *, refused: bool = False) -> ChannelState:
    state = ChannelState()
    for _ in range(times):
        state = after_failure(state, "no", NOW, refused=refused)
    return state


def test_one_that_does_not_answer_is_given_some_batches():
    assert failed(PATIENCE - 1).open_until is None
    assert failed(PATIENCE).open_until == NOW + PAUSE


def test_one_that_refuses_us_is_left_alone_at_once():
    assert failed(1, refused=True).open_until == NOW + PAUSE


def test_pauses_double_up_to_a_longest():
    pauses = [failed(times, refused=True).open_until - NOW for times in range(1, 12)]

    assert pauses[1] == 2 * pauses[0]
    assert pauses == sorted(pauses)
    assert pauses[-1] == LONGEST


def test_after_the_pause_a_single_message_goes_first():
    state = failed(1, refused=True)

    assert allowed(state, NOW, 20) == 0
    assert allowed(state, NOW + PAUSE, 20) == 1
    assert allowed(after_success(state, NOW + PAUSE), NOW + PAUSE, 20) == 20


def test_a_success_leaves_a_state_without_failures_as_it_is():
    state = ChannelState()

    assert after_success(state, NOW) is state


def test_the_sender_leaves_a_silent_relay_alone_and_finds_it_again():
    outbox, clock, me = FakeOutbox(*(message(n) for n in range(1, 9))), SetClock(NOW), "one"
    relay = FakeTransport({f"person{n}@holt.example": DOWN for n in range(1, 9)})
    for _ in range(PATIENCE):
        send_due(outbox, by_mail(relay), clock, me, rng=Random(1))
    assert send_due(outbox, by_mail(relay), clock, me, rng=Random(1)) == SendReport()
    assert len(relay.tried) == PATIENCE

    clock.set(NOW + PAUSE)
    relay.errors = {}
    assert send_due(outbox, by_mail(relay), clock, me, rng=Random(1)).sent == 1
    assert send_due(outbox, by_mail(relay), clock, me, rng=Random(1)).sent == 7


def test_a_channel_that_refuses_us_stops_no_other():
    refused = ChannelRefused("5.7.1 denied", 550)
    mail = by_mail(FakeTransport({"person1@holt.example": refused}))["email"]
    text = by_mail(FakeTransport())["email"]
    outbox = FakeOutbox(message(1), message(2, channel="text"))
    channels = {"email": mail, "text": text}

    report = send_due(outbox, channels, SetClock(NOW), "one", rng=Random(1))

    assert report == SendReport(sent=1, retried=1, stopped={"email": "5.7.1 denied"})
    assert set(outbox.sent) == {2}
