"""Letters over real SMTP to a relay that is slow, closes, or breaks off at each stage."""

from __future__ import annotations

import socket
import threading
from datetime import timedelta
from random import Random

import pytest

from loopback.mailbox import Mailbox
from rootbound_service.channels.bounce_address import message_of
from rootbound_service.channels.email import Letterhead
from rootbound_service.channels.mail_channel import MailChannel
from rootbound_service.channels.send import SendReport, send_due
from rootbound_service.channels.smtp import SmtpTransport
from rootbound_service.channels.transport import NobodyKnows, NotNow
from rootbound_service.clock import SetClock
from service.channels.fakes import HEAD, LINKS, FakeOutbox, by_mail, message
from service.notes.cast import NOW

ONE, TWO, THREE = (f"person{n}@holt.example" for n in (1, 2, 3))
PATIENCE_S = 0.3
"""What the tests wait for an answer that never comes. [s]"""


@pytest.fixture
def mailbox():
    with Mailbox() as running:
        yield running


def relay(mailbox):
    return SmtpTransport(mailbox.host, mailbox.port, timeout_s=PATIENCE_S)


def send(outbox, transport, clock=None):
    return send_due(outbox, by_mail(transport), clock or SetClock(NOW), "me", rng=Random(3))


@pytest.mark.parametrize("fault", ["451", "452", "421", "drop_early", "slow_early"])
def test_what_fails_before_the_letter_comes_once_later_even_a_digest(mailbox, fault):
    """RFC 5321 4.2.1: 4yz is transient. Nothing was handed over, so nothing can come twice."""
    mailbox.set_fault(ONE, fault, times=1)
    outbox, clock = FakeOutbox(message(1, kind="digest"), message(2)), SetClock(NOW)

    first = send(outbox, relay(mailbox), clock)
    clock.set(NOW + timedelta(hours=2))
    send(outbox, relay(mailbox), clock)

    assert first.retried == 1
    assert first.unknown == first.dead == 0
    assert len(mailbox.to(ONE)) == len(mailbox.to(TWO)) == 1


@pytest.mark.parametrize(("fault", "code"), [("550", 550), ("552", 552)])
def test_what_is_refused_for_one_recipient_is_final_for_that_one_alone(mailbox, fault, code):
    """RFC 5321 4.2.1: 5yz is permanent."""
    mailbox.set_fault(ONE, fault)
    outbox = FakeOutbox(message(1), message(2), message(3))

    assert send(outbox, relay(mailbox)) == SendReport(sent=2, dead=1)
    assert outbox.dead[1][0] == code
    assert [len(mailbox.to(one)) for one in (ONE, TWO, THREE)] == [0, 1, 1]
    assert mailbox.connections == 1


def test_an_answer_that_never_comes_may_mean_yes_and_the_note_comes_again(mailbox):
    """RFC 1047: accepted, but the answer is lost; the double has the same name and bytes."""
    mailbox.set_fault(ONE, "slow", times=1)
    outbox, clock = FakeOutbox(message(1), message(2)), SetClock(NOW)

    assert send(outbox, relay(mailbox), clock) == SendReport(sent=1, retried=1)
    clock.set(NOW + timedelta(hours=1))
    assert send(outbox, relay(mailbox), clock) == SendReport(sent=1)
    assert len({one.raw for one in mailbox.to(ONE)}) == 1
    assert len(mailbox.to(ONE)) == 2


def test_a_digest_without_an_answer_is_left_as_unknown(mailbox):
    mailbox.set_fault(ONE, "slow", times=1)

    assert send(FakeOutbox(message(1, kind="digest")), relay(mailbox)) == SendReport(unknown=1)
    assert len(mailbox.to(ONE)) == 1


class HalfDeaf:
    """A server that speaks as told, then says no more or breaks off."""

    def __init__(self, answers, *, read=0):
        self.answers, self.read = answers, read
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        self.thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self):
        self.thread.start()
        return self

    def __exit__(self, *_):
        self.socket.close()
        self.thread.join(timeout=10)

    def _serve(self):
        line, _ = self.socket.accept()
        with line, line.makefile("rb") as file:
            line.sendall(b"220 here\r\n")
            for answer in self.answers:
                file.readline()
                line.sendall(answer)
            file.read(self.read)


ENVELOPE = (b"250 hello\r\n", b"250 from\r\n", b"250 to\r\n", b"354 go on\r\n")


def test_what_breaks_off_within_the_letter_was_not_taken():
    """RFC 5321 4.1.1.4: without its final dot a letter must not be processed."""
    with HalfDeaf(ENVELOPE, read=100) as server:
        transport = SmtpTransport("127.0.0.1", server.port, timeout_s=5)
        with pytest.raises(NotNow, match="broke off within the message"):
            transport.send(b"Subject: x\r\n\r\n" + b"long\r\n" * 4_000_000, "a@b.example", ONE)


def test_what_breaks_off_after_the_final_dot_nobody_knows():
    whole = len(b"Subject: x\r\n\r\nshort\r\n.\r\n")
    with HalfDeaf(ENVELOPE, read=whole) as server:
        transport = SmtpTransport("127.0.0.1", server.port, timeout_s=5)
        with pytest.raises(NobodyKnows):
            transport.send(b"Subject: x\r\n\r\nshort\r\n", "a@b.example", ONE)


@pytest.mark.parametrize("answers", [(), ENVELOPE[:1], ENVELOPE[:2], ENVELOPE[:3]])
def test_wherever_the_envelope_breaks_off_the_letter_waits(answers):
    with HalfDeaf(answers) as server:
        transport = SmtpTransport("127.0.0.1", server.port, timeout_s=5)
        with pytest.raises(NotNow):
            transport.send(b"Subject: x\r\n\r\nx\r\n", "a@b.example", ONE)


def test_the_return_path_on_the_wire_names_the_message(mailbox):
    head = Letterhead(HEAD.mail_from, bounces="bounces@rootbound.example")
    out = MailChannel(relay(mailbox), head, LINKS)
    delivered = out.deliver(message(1, id=4711), None)
    out.close()

    (came,) = mailbox.to(ONE)
    assert message_of(came.sender, LINKS.secret) == 4711
    assert came.mail["Message-ID"] in delivered.headers
    assert delivered.provider_id == "2.0.0 kept as 1"
