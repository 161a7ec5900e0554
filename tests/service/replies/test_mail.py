"""Letters that come in: bounces, wishes to stop, answers, and machines, which get none."""

from __future__ import annotations

from datetime import timedelta
from email import message_from_string, policy

import pytest
from sqlalchemy import select

from rootbound_service.channels.bounce_address import message_of, tagged
from rootbound_service.replies.machines import header
from rootbound_service.replies.mail import MailIn, take_mail
from rootbound_service.replies.written import written
from rootbound_service.store.schema import receipt
from rootbound_service.store.suppressions import suppressed
from service.replies.conftest import NOON

BOUNCES = "bounces@rootbound.example"
# The form of RFC 3464, section 9 (appendix E): multipart/report with three parts.
DSN = """\
Return-Path: <>
From: Mail Delivery <mailer-daemon@relay.example>
To: {to}
Subject: Returned mail
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="b"

--b
Content-Type: text/plain

Your letter could not be delivered.

--b
Content-Type: message/delivery-status

Reporting-MTA: dns; relay.example
Arrival-Date: Tue, 14 Jul 2026 13:00:00 +0000

Final-Recipient: rfc822; maren@alder.example
Action: {action}
Status: {status}
Diagnostic-Code: smtp; 550 {status} <maren@alder.example>: {why}

--b
Content-Type: text/rfc822-headers

Message-ID: <x.email@rootbound.example>

--b--
"""


def take(desk, raw, at=NOON, to=""):
    with desk.engine.begin() as conn:
        return take_mail(conn, MailIn(raw.replace("\n", "\r\n").encode(), at, to), desk.links, "us")


def bounced(desk, status, action="failed", number=2, why="unknown user", at=NOON):
    to = tagged(BOUNCES, number, desk.links.secret)
    return take(desk, DSN.format(to=to, action=action, status=status, why=why), at)


def stopped(desk):
    with desk.engine.connect() as conn:
        return suppressed(conn, "email", desk.mail.address)


def receipts(desk):
    with desk.engine.connect() as conn:
        return conn.execute(select(receipt)).all()


def test_a_dead_address_is_stopped_at_once_and_the_bounce_names_nobody(desk):
    """RFC 3463: 5.1.1 bad destination mailbox address."""
    assert bounced(desk, "5.1.1") == "bounce"
    assert stopped(desk) == {"all"}
    (kept,) = receipts(desk)
    assert (kept.outbox_id, kept.state, kept.code) == (2, "failed", "5.1.1")
    assert "maren" not in kept.said


def test_a_full_mailbox_is_stopped_after_five_letters_in_a_fortnight(desk):
    """RFC 3463: 5.2.2 mailbox full."""
    first, *others = desk.letters(9)
    for day, number in enumerate([first, *others[:3]]):
        bounced(desk, "5.2.2", number=number, at=NOON + timedelta(days=day))
    bounced(desk, "5.2.2", number=others[4], at=NOON + timedelta(days=20))
    assert stopped(desk) == frozenset()
    for day, number in enumerate(others[4:]):
        bounced(desk, "5.2.2", number=number, at=NOON + timedelta(days=21 + day))
    assert stopped(desk) == frozenset()  # four letters: one of them came back twice
    bounced(desk, "4.4.1", number=others[3], at=NOON + timedelta(days=26))
    assert stopped(desk) == {"all"}


def test_refusals_of_ours_do_not_add_up_to_a_dead_address(desk):
    """RFC 3463 3.8: 5.7.x is policy; ten of them say nothing of the reader's mailbox."""
    *ours, last = desk.letters(11)
    for number in ours:
        bounced(desk, "5.7.1", number=number)
    bounced(desk, "5.2.2", number=last)

    assert len(receipts(desk)) == 11
    assert stopped(desk) == frozenset()


def test_the_same_bounce_handed_in_twice_counts_once(desk):
    assert bounced(desk, "5.2.2") == "bounce"
    assert bounced(desk, "5.2.2") == "told_before"
    assert len(receipts(desk)) == 1


@pytest.mark.parametrize(
    ("status", "action"),
    [
        ("5.7.1", "failed"),
        ("5.1.8", "failed"),
        ("5.3.4", "failed"),
        ("4.4.1", "delayed"),
        ("2.0.0", "delivered"),
    ],
)
def test_policy_delay_and_delivery_blame_nobody(desk, status, action):
    """RFC 3463: 5.7.x is policy, 5.1.8 the sender's own address, 5.3.4 a letter too large."""
    bounced(desk, status, action)

    assert stopped(desk) == frozenset()
    assert len(receipts(desk)) == 1


def test_a_bounce_for_an_address_that_is_not_ours_does_nothing(desk):
    forged = f"bounces+2.{'0' * 16}@rootbound.example"
    take(desk, DSN.format(to=forged, action="failed", status="5.1.1", why="x"))

    assert stopped(desk) == frozenset()
    assert receipts(desk) == []


def test_a_return_path_is_read_whatever_relays_do_to_its_case():
    address = tagged(BOUNCES, 12, "s")

    assert message_of(address.upper(), "s") == message_of(f"<{address}>", "s") == 12
    assert message_of(address, "another") is None
    assert len(address.partition("@")[0]) <= 64  # RFC 5321 4.5.3.1.1


def letter(desk, body, subject="Re: Tight: Long Acre", sender=None, **headers):
    extra = "".join(f"{name.replace('_', '-')}: {value}\n" for name, value in headers.items())
    who = sender or desk.mail.address
    name = abs(hash((body, subject)))
    return (
        f"From: Maren Holt <{who}>\nTo: watch@rootbound.example\nSubject: {subject}\n"
        f"Message-ID: <{name}@alder.example>\n{extra}\n{body}\n"
    )


def test_the_word_stop_in_an_answer_stops(desk):
    assert take(desk, letter(desk, "Stop\n\n> Long Acre is tight\n> stop reading")) == "stopped"
    assert stopped(desk) == {"all"}


def test_the_link_of_a_letter_stops_only_its_kind(desk):
    token = desk.links.token("stop", desk.mail.id, 2)

    assert take(desk, letter(desk, "", subject=f"stop-{token}")) == "stopped"
    assert stopped(desk) == {"digest"}


def test_rain_by_letter_is_kept_and_answered_in_the_thread(desk):
    body = f"Rain 0.4 #{desk.first.id}\n\nOn Tue, Rootbound wrote:\n> Long Acre"
    raw = letter(desk, body, In_Reply_To=desk.name_of(2))

    assert take(desk, raw) == "answered"
    assert [one.kind for one in desk.seen(desk.first)] == ["rain"]
    (answer,) = desk.answers()
    assert answer.subject == "Re: Tight: Long Acre"
    assert "0.4 in of rain" in answer.text
    assert take(desk, raw) == "told_before"
    assert len(desk.answers()) == 1


@pytest.mark.parametrize("header", ["auto-replied", "auto-generated"])
def test_a_machine_is_never_answered(desk, header):
    """RFC 3834 section 2: no answer to anything whose Auto-Submitted is not "no"."""
    assert take(desk, letter(desk, "I am away, stop by later", Auto_Submitted=header)) == "machine"
    assert desk.answers() == []
    assert stopped(desk) == frozenset()


def test_no_header_hands_a_database_what_it_cannot_keep():
    """RFC 2047 section 4: an encoded word may hold any octet, a NUL among them."""
    parsed = message_from_string(
        "From: =?utf-8?q?a=00b?= <x@y.example>\nSubject: =?utf-8?b?AAA=?=\n\nhi\0 there",
        policy=policy.default,
    )

    assert "\0" not in header(parsed, "From") + header(parsed, "Subject")
    assert written(parsed) == ["hi there"]


def test_a_stranger_changes_nothing(desk):
    assert take(desk, letter(desk, "stop", sender="eve@elsewhere.example")) == "stranger"
    assert stopped(desk) == frozenset()


@pytest.mark.parametrize(
    "raw", ["", "\n\n", "From: x\n\n\x00", "Content-Type: multipart/report\n\n"]
)
def test_no_letter_breaks_the_reader(desk, raw):
    assert take(desk, raw) in {"stranger", "bounce", "machine"}
