"""Letters from people: who may change what, what "stop" stops, and when we keep silent."""

from __future__ import annotations

from datetime import timedelta
from email import message_from_bytes, policy

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select, update

from rootbound_service.channels.bounces import read_bounce
from rootbound_service.channels.email import to_email
from rootbound_service.replies.letters import BACK
from rootbound_service.replies.machines import is_machine
from rootbound_service.replies.mail_act import meaning_of
from rootbound_service.replies.written import written
from rootbound_service.store.acknowledgements import acknowledged_since
from rootbound_service.store.outbox import load_messages
from rootbound_service.store.receipts import came_back
from rootbound_service.store.schema import consent_event, inbound, outbox, receipt
from rootbound_service.store.suppressions import suppressed
from service.channels.fakes import HEAD
from service.replies.conftest import NOON
from service.replies.test_mail import DSN, bounced, letter, stopped, take


def parsed(raw):
    return message_from_bytes(raw.encode(), policy=policy.default)


def plain(body, subject="Re: Tight"):
    return parsed(f"From: a@b.example\nSubject: {subject}\nContent-Type: text/plain\n\n{body}")


@pytest.mark.parametrize("words", ["Rain 0.4", "OK", "Roll yes", "Start"])
def test_whoever_only_claims_to_be_the_grower_changes_nothing(desk, words):
    """From is free to make up: RFC 5322 gives no proof of it."""
    assert take(desk, letter(desk, words)) == "answered"

    assert not desk.seen(desk.first)
    (answer,) = desk.answers()
    assert answer.text.startswith("Not kept: this letter does not answer one of ours")
    assert answer.to_address == desk.mail.address
    with desk.engine.connect() as conn:
        assert not acknowledged_since(conn, desk.first.season_id, NOON)


def test_ok_to_a_note_says_that_this_note_was_seen(desk):
    take(desk, letter(desk, "OK", In_Reply_To=desk.name_of(2)))

    with desk.engine.connect() as conn:
        # letter 2 carries the note of the first field
        assert acknowledged_since(conn, desk.first.season_id, NOON)
        assert not acknowledged_since(conn, desk.second.season_id, NOON)
    assert "Long Acre" in desk.answers()[0].text


def test_a_letter_of_somebody_else_proves_nothing(desk):
    with desk.engine.begin() as conn:
        conn.execute(update(outbox).where(outbox.c.id == 2).values(contact_id=desk.phone.id))
    raw = letter(desk, f"Rain 0.4 #{desk.first.id}", In_Reply_To=desk.name_of(2))
    take(desk, raw)

    assert not desk.seen(desk.first)


def test_an_answer_to_a_letter_long_ago_proves_nothing(desk):
    raw = letter(desk, f"Rain 0.4 #{desk.first.id}", References=desk.name_of(2))
    take(desk, raw, at=NOON + BACK + timedelta(days=1))

    assert not desk.seen(desk.first)
    take(desk, raw.replace("Message-ID: <", "Message-ID: <x"), at=NOON + BACK - timedelta(days=1))
    assert desk.seen(desk.first)


@pytest.mark.parametrize(
    ("words", "to", "scope"),
    [("Stop", "note", "note"), ("Stop", "digest", "digest"), ("Stop all", "note", "all")],
)
def test_stop_in_an_answer_stops_letters_of_its_kind(desk, words, to, scope):
    number = 2 if to == "note" else desk.letters(1)[0]
    take(desk, letter(desk, words, In_Reply_To=desk.name_of(number)))

    assert stopped(desk) == {scope}
    with desk.engine.connect() as conn:
        event = conn.execute(select(consent_event).order_by(consent_event.c.id.desc())).first()
    assert (event.kind, event.how, event.said) == ("withdrawn", "email", words)


def test_help_comes_once_a_day_and_answers_end_after_ten(desk):
    for minute in range(3):
        take(desk, letter(desk, f"what is this {minute}"), at=NOON + timedelta(minutes=minute))
    assert len(desk.answers()) == 1
    for minute in range(20):
        take(desk, letter(desk, f"help {minute}"), at=NOON + timedelta(hours=1, minutes=minute))

    assert len(desk.answers()) == 10


def test_the_answer_stands_in_the_thread_and_says_what_it_is(desk):
    """RFC 3834 3.1.5 and 5: In-Reply-To names the letter answered; auto-replied."""
    take(desk, letter(desk, "help"))
    with desk.engine.connect() as conn:
        (one,) = load_messages(conn, [desk.answers()[0].id])
        theirs = conn.scalar(select(inbound.c.provider_id))
    mail = to_email(one, HEAD, one.dedupe_key, desk.links)

    assert mail["In-Reply-To"] == mail["References"] == theirs
    assert mail["Auto-Submitted"] == "auto-replied"


@pytest.mark.parametrize(
    "head",
    [
        "Auto-Submitted: auto-replied; x=y", "Return-Path: <>", "Precedence: bulk",
        "List-Id: <l.example>", "Content-Type: multipart/report; report-type=feedback-report",
    ],
)  # fmt: skip
def test_machines_and_lists_are_known_by_their_headers(head):
    assert is_machine(parsed(f"{head}\nFrom: a@b.example\n\nstop"))


@pytest.mark.parametrize("head", ["Auto-Submitted: no", "Auto-Submitted: No; owner", "X-A: b"])
def test_people_are_no_machines(head):
    assert not is_machine(parsed(f"{head}\nFrom: a@b.example\nReturn-Path: <a@b.example>\n\nhi"))


def test_a_mail_program_that_stops_for_its_reader_is_heard_and_not_answered(desk):
    token = desk.links.token("stop", desk.mail.id, 1)
    raw = letter(desk, "", subject=f"stop-{token}", Auto_Submitted="auto-generated")

    assert take(desk, raw) == "stopped"
    assert take(desk, raw) == "told_before"
    assert stopped(desk) == {"note"}
    assert desk.answers() == []


def test_a_stop_link_that_was_changed_stops_nothing(desk):
    token = desk.links.token("stop", desk.mail.id, 1)
    take(desk, letter(desk, "hm", subject=f"stop-{token[:-2]}xx", sender="eve@else.example"))

    assert stopped(desk) == frozenset()


def test_a_bounce_is_known_by_the_letter_it_gives_back(desk):
    """RFC 3464 2: the third part returns the headers; some relays rewrite the return path."""
    raw = DSN.format(to="bounces@rootbound.example", action="failed", status="5.1.1", why="gone")
    assert take(desk, raw) == "machine"
    assert take(desk, raw.replace("<x.email@rootbound.example>", desk.name_of(2))) == "bounce"
    assert stopped(desk) == {"all"}


def test_a_bounce_that_a_mail_system_hands_on_is_known_by_the_envelope(desk):
    from rootbound_service.channels.bounce_address import tagged

    raw = DSN.format(to="anything@rootbound.example", action="failed", status="5.1.1", why="x")
    to = tagged("mail+bounces@rootbound.example", 2, desk.links.secret)

    assert take(desk, raw, to=to) == "bounce"


def test_the_operator_reads_what_came_back_without_a_name(desk):
    bounced(desk, "5.7.26", why="sender is not authenticated")
    with desk.engine.connect() as conn:
        (one,) = came_back(conn, NOON - timedelta(days=1))

    assert (one.outbox_id, one.code, one.kind) == (2, "5.7.26", "note")
    assert "not authenticated" in one.said
    assert "@" not in one.said.replace("[address]", "")


def test_of_several_recipients_the_worst_counts_and_of_codes_the_exact_one():
    raw = DSN.format(to="x@y.example", action="delayed", status="4.4.1", why="slow")
    second = "\nFinal-Recipient: rfc822; b@c.example\nAction: failed\nStatus: 5.0.0\n"
    second += "Diagnostic-Code: smtp; 550 5.1.1 no such user\n"
    both = raw.replace("slow\n", f"slow\n{second}")

    found = read_bounce(parsed(both))
    assert (found.state, found.status, found.follows) == ("failed", "5.1.1", "suppress")


OURS = "Long Acre is tight.\nTo stop letters, answer: please stop sending\n"


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("RAIN 0.8\n\nThanks,\nMaren", ["RAIN 0.8", "Thanks, Maren"]),
        ("Hi there,\n\nOK", ["OK"]),
        ("ok\n-- \nMaren\nstop signs for sale", ["ok"]),
        ("On Tue, Jul 14 Rootbound <a@b.example>\nwrote:\n> x\n\nROLL YES", ["ROLL YES"]),
        ("OK\n\n-----Original Message-----\nplease stop sending", ["OK"]),
        ("OK\n\nAm 14.7. Rootbound\nTo stop letters,  answer: please stop sending", None),
    ],
)
def test_what_was_quoted_was_not_written(body, said):
    found = written(plain(body), OURS)

    assert found == said if said else "please stop sending" not in " ".join(found)


def test_of_a_page_what_a_reader_sees_is_read():
    page = "<style>p{}</style><div>RAIN&nbsp;0.8</div><blockquote>stop all</blockquote><p>Bye</p>"
    mail = parsed(f"Content-Type: text/html; charset=utf-8\nSubject: x\n\n{page}")

    assert [one.replace("\xa0", " ") for one in written(mail)] == ["RAIN 0.8", "Bye"]
    assert meaning_of(mail)[1].meaning == "rain"


@pytest.mark.parametrize(
    ("body", "meaning"),
    [
        ("The numbers look wrong to me.\n\nThanks", "unclear"),
        ("Hello,\n\nnice weather here.\n\nPlease take me off this list.", "stop"),
        ("", "unclear"),
    ],
)
def test_the_first_paragraph_counts_and_stop_counts_anywhere(body, meaning):
    """Thanks under a complaint must not pass for having seen a warning."""
    assert meaning_of(plain(body))[1].meaning == meaning


def test_a_subject_of_their_own_counts_and_ours_does_not():
    assert meaning_of(plain("", subject="STOP"))[1].meaning == "stop"
    assert meaning_of(plain("", subject="Re: stop"))[1].meaning == "unclear"


PIECES = st.sampled_from(
    [
        b"From: a@b.example\r\n", b"From: =?x?q?=00?=\r\n", b"Subject: stop-9-1.x\r\n",
        b"To: bounces+2.0@x\r\n", b"Message-ID: <\r\n", b"In-Reply-To: <" + b"a" * 32 + b".email@",
        b"Content-Type: multipart/report; report-type=delivery-status; boundary=b\r\n",
        b"Content-Type: text/plain; charset=nosuch\r\n", b"Content-Transfer-Encoding: base64\r\n",
        b"--b\r\n", b"--b--\r\n", b"\r\n", b"Content-Type: message/delivery-status\r\n\r\n",
        b"Final-Recipient: rfc822; x\r\n", b"Status: 5.1.1\r\n", b"Action: failed\r\n", b"stop",
        b"Content-Type: message/rfc822\r\n\r\n", b'From: "\r\n',
    ]
)  # fmt: skip


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(raw=st.lists(PIECES | st.binary(max_size=30), max_size=14).map(b"".join))
def test_no_bytes_break_the_reader_or_stop_anybody(desk, raw):
    from rootbound_service.replies.mail import MailIn, take_mail

    with desk.engine.begin() as conn:
        what = take_mail(conn, MailIn(raw, NOON), desk.links, "us")
        assert suppressed(conn, "email", desk.mail.address) == frozenset()
        assert conn.execute(select(receipt)).all() == []
    assert what in {"stranger", "machine", "answered"}
