"""The sender over real SMTP against a mailbox that refuses, stalls, breaks and asks for log-in."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest

from loopback.mailbox import ANSWERS, Mailbox
from rootbound_service.channels.email import to_email
from rootbound_service.channels.send import SendReport, send_due
from rootbound_service.channels.smtp import SmtpTransport
from rootbound_service.clock import SetClock
from service.channels.fakes import HEAD, LINKS, FakeOutbox, by_mail, message
from service.notes.cast import NOW

ONE, TWO, THREE = (f"person{n}@holt.example" for n in (1, 2, 3))


@pytest.fixture
def mailbox(tmp_path):
    with Mailbox(tmp_path / "mail") as running:
        yield running


def relay(mailbox, **more):
    return SmtpTransport(mailbox.host, mailbox.port, timeout_s=5, **more)


def send(outbox, transport, clock=None, me="sender-1"):
    return send_due(outbox, by_mail(transport), clock or SetClock(NOW), me, rng=Random(3))


def test_a_batch_goes_over_one_connection_and_arrives_byte_for_byte(mailbox):
    outbox = FakeOutbox(message(1), message(2), message(3))

    assert send(outbox, relay(mailbox)) == SendReport(sent=3)
    assert mailbox.connections == 1
    assert (
        mailbox.to(ONE)[0].raw.rstrip()
        == to_email(message(1), HEAD, None, LINKS).as_bytes().rstrip()
    )
    assert sorted(file.suffix for file in mailbox.folder.iterdir()) == [".eml"] * 3


def test_a_line_that_begins_with_a_dot_arrives_whole(mailbox):
    dotted = message(1, text=".\n.hidden\nend\n", html="")
    send(FakeOutbox(dotted), relay(mailbox))

    assert mailbox.to(ONE)[0].mail.get_content().split() == [".", ".hidden", "end"]


def test_550_is_final_for_one_and_nothing_to_the_others(mailbox):
    mailbox.set_fault(ONE, "550")
    outbox = FakeOutbox(message(1), message(2))

    assert send(outbox, relay(mailbox)) == SendReport(sent=1, dead=1)
    assert outbox.dead[1][0] == 550
    assert len(mailbox.to(TWO)) == 1


def test_an_address_beyond_ascii_is_final_and_the_next_letter_still_goes(mailbox):
    outbox = FakeOutbox(message(1, to_address="m\u00e5ren@holt.example"), message(2))

    assert send(outbox, relay(mailbox)) == SendReport(sent=1, dead=1)
    assert "not one that a letter can carry" in outbox.dead[1][1]
    assert mailbox.connections == 1


def test_451_is_tried_again_and_arrives_once(mailbox):
    mailbox.set_fault(ONE, "451", times=1)
    outbox, clock = FakeOutbox(message(1), message(2)), SetClock(NOW)

    assert send(outbox, relay(mailbox), clock) == SendReport(sent=1, retried=1)
    clock.set(NOW + timedelta(minutes=2))
    assert send(outbox, relay(mailbox), clock) == SendReport(sent=1)
    assert len(mailbox.to(ONE)) == len(mailbox.to(TWO)) == 1


def test_a_note_whose_answer_was_lost_comes_twice_with_one_message_id(mailbox):
    mailbox.set_fault(ONE, "drop", times=1)
    outbox, clock = FakeOutbox(message(1), message(2)), SetClock(NOW)

    assert send(outbox, relay(mailbox), clock) == SendReport(sent=1, retried=1)
    clock.set(NOW + timedelta(minutes=2))
    assert send(outbox, relay(mailbox), clock) == SendReport(sent=1)
    letters = mailbox.to(ONE)
    assert len(letters) == 2
    assert len({letter.mail["Message-ID"] for letter in letters}) == 1
    assert len({letter.raw for letter in letters}) == 1


def test_a_note_that_broke_off_unkept_is_not_lost(mailbox):
    mailbox.set_fault(ONE, "drop_unsaved", times=1)
    outbox, clock = FakeOutbox(message(1)), SetClock(NOW)

    send(outbox, relay(mailbox), clock)
    clock.set(NOW + timedelta(minutes=2))
    send(outbox, relay(mailbox), clock)

    assert len(mailbox.to(ONE)) == 1


def test_a_digest_whose_answer_was_lost_comes_once_and_is_marked_unknown(mailbox):
    mailbox.set_fault(ONE, "drop", times=1)
    outbox = FakeOutbox(message(1, kind="digest"))

    assert send(outbox, relay(mailbox)) == SendReport(unknown=1)
    assert len(mailbox.to(ONE)) == 1


def test_relaying_denied_stops_the_channel_and_keeps_every_message(mailbox):
    mailbox.set_fault(ONE, "5.7.1")
    outbox = FakeOutbox(message(1), message(2))

    assert "5.7.1" in send(outbox, relay(mailbox)).stopped["email"]
    assert set(outbox.waiting) == {1, 2}
    assert mailbox.received == []


@pytest.mark.parametrize("password", ["wrong", None])
def test_a_wrong_log_in_stops_the_channel(tmp_path, password):
    user = "rootbound" if password else None
    outbox = FakeOutbox(message(1))
    with Mailbox(users={"rootbound": "right"}) as mailbox:
        report = send(outbox, relay(mailbox, user=user, password=password))

    assert report.stopped["email"]
    assert outbox.states["email"].open_until > NOW
    assert set(outbox.waiting) == {1}


def test_the_right_log_in_is_let_in():
    outbox = FakeOutbox(message(1))
    with Mailbox(users={"rootbound": "right"}) as mailbox:
        report = send(outbox, relay(mailbox, user="rootbound", password="right"))

    assert report == SendReport(sent=1)


def test_encryption_that_is_not_offered_stops_the_channel(mailbox):
    assert send(FakeOutbox(message(1)), relay(mailbox, starttls=True)).stopped
    assert mailbox.received == []


def test_a_relay_that_is_not_there_puts_everything_off():
    with Mailbox() as gone:
        port = gone.port
    outbox = FakeOutbox(message(1), message(2))
    transport = SmtpTransport("127.0.0.1", port, timeout_s=5)

    assert send(outbox, transport) == SendReport(retried=1, waiting=1)


def test_what_a_server_says_is_kept_without_the_address(mailbox, monkeypatch):
    monkeypatch.setitem(ANSWERS, "550", f"550 5.1.1 <{ONE}>: unknown user")
    mailbox.set_fault(ONE, "550")
    outbox = FakeOutbox(message(1))
    send(outbox, relay(mailbox))

    assert "holt.example" not in outbox.dead[1][1]
    assert "unknown user" in outbox.dead[1][1]


def test_through_any_mix_of_faults_nothing_is_lost(mailbox):
    mailbox.set_fault(ONE, "drop", times=1)
    mailbox.set_fault(TWO, "451", times=2)
    mailbox.set_fault(THREE, "550")
    outbox, clock = FakeOutbox(*(message(n) for n in range(1, 9))), SetClock(NOW)
    for hour in range(6):
        clock.set(NOW + timedelta(hours=hour))
        send(outbox, relay(mailbox), clock)

    assert outbox.everywhere() == set(range(1, 9))
    assert set(outbox.dead) == {3}
    assert outbox.waiting == {}
    arrived = [len(mailbox.to(f"person{n}@holt.example")) for n in range(1, 9)]
    assert arrived == [2, 1, 0, 1, 1, 1, 1, 1]
