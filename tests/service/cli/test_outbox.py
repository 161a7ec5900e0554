"""The operator sees what waits or was given up, and sends it again or drops it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from typer.testing import CliRunner

from rootbound_service.cli.outbox import outbox as commands
from rootbound_service.cli.session import Session
from rootbound_service.store.channel_state import ChannelState, put_channel_state
from rootbound_service.store.claiming import claim
from rootbound_service.store.delivery import mark_dead
from rootbound_service.store.outbox import counts, enqueue
from service.channels.fakes import message


@pytest.fixture
def ask(fake, clock, monkeypatch, tmp_path):
    monkeypatch.setenv("ROOTBOUND_DATA_DIR", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "120")

    class Opened:
        def __init__(self, *_):
            pass

        def __enter__(self):
            return fake

        def __exit__(self, *_):
            pass

    def go(*words):
        session = Session(clock=clock, opener=Opened)
        return CliRunner().invoke(commands, [str(word) for word in words], obj=session)

    return go


@pytest.fixture
def dead(store, clock) -> int:
    """A message that was given up, beside one that waits."""
    now = clock.now()
    plain = replace(message(), person_id=None, created_at=now, available_at=now)
    plain = replace(plain, not_after=now + timedelta(hours=36))
    late = replace(plain, dedupe_key="second", available_at=now + timedelta(hours=1))
    with store.begin() as conn:
        enqueue(conn, [plain, late])
        (one,) = claim(conn, "one", now, timedelta(minutes=10), 20)
        mark_dead(conn, one.id, "one", now, 550, "5.1.1 no such mailbox")
    return one.id


def totals(store):
    with store.connect() as conn:
        return {name: many for name, many in counts(conn).items() if many}


def test_the_list_names_what_waits_and_what_was_given_up_but_no_address(ask, dead):
    told = ask("list").output

    assert "1 pending, 1 dead" in told
    assert "550 5.1.1 no such mailbox" in told
    assert "holt.example" not in told


def test_the_list_can_be_narrowed_to_a_status(ask, dead):
    told = ask("list", "--status", "pending").output

    assert "no such mailbox" not in told


def test_a_status_that_is_none_is_refused_with_those_there_are(ask, dead):
    answer = ask("list", "--status", "gone")

    assert answer.exit_code == 1
    assert "'gone' is no status; give one of pending" in answer.output


def test_an_empty_outbox_says_so(ask):
    assert ask("list").output == "Empty.\n"


def test_a_channel_left_alone_is_named_with_why_and_until_when(ask, store, clock):
    state = ChannelState(1, clock.now() + timedelta(minutes=10), "5.7.1 denied", clock.now())
    with store.begin() as conn:
        put_channel_state(conn, "email", state)

    assert "email is left alone until 2026-07-14 11:10 UTC: 5.7.1 denied" in ask("list").output
    clock.set(clock.now() + timedelta(minutes=10))
    assert "left alone" not in ask("list").output


def test_one_message_is_shown_with_every_try(ask, dead):
    told = ask("show", dead).output

    assert f"Message {dead}, note by email: dead" in told
    assert "try 1: 2026-07-14 11:00 UTC dead 550 5.1.1 no such mailbox" in told


def test_a_message_that_is_not_there_is_said(ask):
    answer = ask("show", 99)

    assert answer.exit_code == 1
    assert "there is no message 99; see rootbound outbox list" in answer.output


def test_what_was_given_up_is_due_again(ask, dead, store, clock):
    assert ask("retry", dead).output == "1 message due now.\n"
    assert totals(store) == {"pending": 2}
    with store.begin() as conn:
        (one,) = claim(conn, "one", clock.now(), timedelta(minutes=10), 20)
    assert (one.id, one.not_after) == (dead, clock.now() + timedelta(hours=24))


def test_dropping_needs_a_reason_and_keeps_it(ask, dead, store):
    assert ask("drop", dead).exit_code == 2
    assert ask("drop", dead, "--why", "the field was sold").output == "1 message dropped.\n"
    assert totals(store) == {"pending": 1, "dropped": 1}
    assert "the field was sold" in ask("show", dead).output


def test_all_are_changed_or_none(ask, dead, store, clock):
    with store.begin() as conn:
        clock.set(clock.now() + timedelta(hours=1))
        (held,) = claim(conn, "one", clock.now(), timedelta(minutes=10), 20)
    answer = ask("drop", dead, held.id, "--why", "a mistake")

    assert answer.exit_code == 1
    assert f"nothing was changed: {dead} is dead, {held.id} is sending" in answer.output
    assert totals(store) == {"sending": 1, "dead": 1}
