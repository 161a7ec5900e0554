"""Calls of providers: signed ones are heard, once; nobody else is."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from sqlalchemy import select

from rootbound_service.channels.hook import Proof, sign
from rootbound_service.store.schema import inbound, outbox, receipt
from rootbound_service.store.suppressions import suppressed
from service.web.conftest import HOOK, NOW, NUMBER


def call(scene, path, said, at=NOW, secret=HOOK):
    body = json.dumps(said).encode() if isinstance(said, dict) else said
    headers = {"X-Proof": sign(body, secret, at), "Content-Type": "application/json"}
    return scene.web.post(path, content=body, headers=headers)


def rows(scene, table):
    with scene.service.engine.connect() as conn:
        return conn.execute(select(table)).all()


STOP = {"id": "in-1", "from": NUMBER, "text": "STOP"}


def test_stop_is_done_at_once_and_answered_once(scene):
    assert call(scene, "/in/text", STOP).status_code == 200
    assert call(scene, "/in/text", STOP).status_code == 200

    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "text", NUMBER) == {"all"}
    answers = [one for one in rows(scene, outbox) if one.kind == "answer"]
    assert len(answers) == len(rows(scene, inbound)) == 1
    assert "no more texts" in answers[0].text


@pytest.mark.parametrize(
    "more",
    [{"secret": "another"}, {"at": NOW - timedelta(minutes=6)}, {"at": NOW + timedelta(minutes=6)}],
)
def test_a_call_with_a_wrong_or_an_old_signature_is_not_heard(scene, more):
    assert call(scene, "/in/text", STOP, **more).status_code == 403
    assert rows(scene, inbound) == []


def test_a_call_whose_body_was_changed_is_not_heard(scene):
    body = json.dumps(STOP).encode()
    headers = {"X-Proof": sign(body, HOOK, NOW)}

    assert scene.web.post("/in/text", content=body + b" ", headers=headers).status_code == 403


def test_without_a_secret_nothing_is_ever_heard():
    for scheme in ("signed", "hmac", "token"):
        assert not Proof(scheme).holds({"X-Signature": ""}, b"", "", NOW)
        assert not Proof(scheme).holds({}, b"", "s", NOW)


@pytest.mark.parametrize("said", [b"{", b"[]", {"id": "in-2", "from": NUMBER}, {"from": "1"}])
def test_what_is_not_understood_is_told_to_the_provider(scene, said):
    assert call(scene, "/in/text", said).status_code == 422
    assert rows(scene, inbound) == []


@pytest.mark.parametrize(
    ("said", "state"), [("delivered", "delivered"), ("failed", "failed"), ("odd", "unknown")]
)
def test_a_delivery_receipt_is_kept_with_its_message(scene, said, state):
    from sqlalchemy import update

    with scene.service.engine.begin() as conn:
        conn.execute(update(outbox).values(channel="text"))
    call(scene, "/in/receipt", {"id": "m-1", "status": said})

    assert [one.state for one in rows(scene, receipt)] == [state]


def test_a_body_that_is_too_long_is_not_read(scene):
    assert call(scene, "/in/text", b"x" * 70_000).status_code == 413


def test_a_letter_by_hook_is_taken_in(scene):
    raw = f"From: {scene.mail.address}\r\nSubject: Re: Tight\r\nMessage-ID: <a@b>\r\n\r\nstop\r\n"
    body = raw.encode()
    headers = {"X-Signature": sign(body, HOOK, NOW)}

    assert scene.web.post("/in/mail", content=body, headers=headers).status_code == 200
    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "email", scene.mail.address) == {"all"}
