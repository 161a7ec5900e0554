"""Texts that come in: acted upon once, answered once, strangers left alone."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rootbound_service import gsm
from rootbound_service.store.acknowledgements import acknowledged_since
from rootbound_service.store.claiming import unwanted
from rootbound_service.store.contacts import consents
from rootbound_service.store.suppressions import suppressed
from service.channels.fakes import message
from service.replies.conftest import LATER, NOON, NUMBER, Desk


@pytest.fixture
def desk(store):
    """Both databases: they do not keep the same characters."""
    return Desk(store)


def test_rain_is_kept_for_the_field_of_the_last_note_in_the_readers_unit(desk):
    answer = desk.text("Rain 0.8")

    (kept,) = desk.seen(desk.first)
    assert (kept.kind, kept.day) == ("rain", date(2026, 7, 14))
    assert kept.value == pytest.approx(20.32)  # the inch is 25.4 mm
    assert answer == (
        "Rootbound: 0.8 in of rain on Jul 14 kept for Long Acre. It counts from tonight on."
    )


def test_rain_told_before_noon_fell_on_the_day_before(desk):
    desk.text("rain 12 mm", at=NOON - timedelta(hours=3))

    assert desk.seen(desk.first)[0].day == date(2026, 7, 13)


def test_a_field_is_named_by_its_number(desk):
    desk.text(f"ROLL YES #{desk.second.id}")

    assert not desk.seen(desk.first)
    assert [(one.kind, one.value) for one in desk.seen(desk.second)] == [("rolled", 1.0)]


def test_a_number_that_is_none_of_theirs_is_asked_back(desk):
    answer = desk.text("RAIN 0.8 #99")

    assert answer.startswith("Rootbound: which field? Write RAIN 0.8 #")
    assert "Long Acre" in answer
    assert not desk.seen(desk.first)


def test_what_cannot_be_is_not_kept_and_says_why(desk):
    answer = desk.text("RAIN 80")

    assert answer.startswith("Rootbound: not kept.")
    assert not desk.seen(desk.first)


def test_ok_says_that_the_last_note_was_seen(desk):
    assert desk.text("OK") == "Rootbound: noted, you have seen Long Acre."
    with desk.engine.connect() as conn:
        assert acknowledged_since(conn, desk.first.season_id, NOON)
        assert not acknowledged_since(conn, desk.second.season_id, NOON)


def test_stop_holds_for_what_waits_already_and_start_restores_it(desk):
    desk.text("Stop")
    waiting = message(7, channel="text", to_address=NUMBER, contact_id=desk.phone.id)
    with desk.engine.connect() as conn:
        assert suppressed(conn, "text", NUMBER) == {"all"}
        assert unwanted(conn, [waiting])
        assert consents(conn, [desk.phone.id])[desk.phone.id].said == "Stop"
    desk.text("START")
    with desk.engine.connect() as conn:
        assert not unwanted(conn, [waiting])


def test_the_same_text_told_twice_is_one(desk):
    first, again = (desk.text("RAIN 0.8", name="m-7") for _ in range(2))

    assert first
    assert again is None
    assert len(desk.seen(desk.first)) == 1
    assert len(desk.answers()) == 1


def test_what_is_not_understood_is_helped_once_a_day(desk):
    first, second = desk.text("what?"), desk.text("hello??", at=LATER)
    next_day = desk.text("hm", at=NOON + timedelta(hours=25))

    assert first.startswith("Rootbound did not understand")
    assert second is None
    assert next_day == first


def test_a_stranger_is_answered_to_help_and_stop_alone(desk):
    number = "+15155550999"

    assert desk.text("hello", number=number) is None
    assert "the office" in desk.text("HELP", number=number)
    assert "no more texts" in desk.text("STOP", number=number)
    with desk.engine.connect() as conn:
        assert suppressed(conn, "text", number) == {"all"}


def test_ok_with_a_number_says_that_this_field_was_seen(desk):
    assert desk.text(f"OK #{desk.second.id}") == "Rootbound: noted, you have seen West Ridge."
    with desk.engine.connect() as conn:
        assert acknowledged_since(conn, desk.second.season_id, NOON)
        assert not acknowledged_since(conn, desk.first.season_id, NOON)


def test_nothing_follows_the_word_that_texts_have_stopped(desk):
    """CTIA Messaging Principles 5.1.3: no message after the confirmation of an opt-out."""
    desk.text("STOP")

    assert desk.text("stop!!") is None
    assert desk.text("why?", at=LATER) is None
    assert len(desk.answers()) == 1
    assert "the office" in desk.text("HELP")  # asked for, and so answered


def test_two_machines_do_not_talk_forever_and_stopping_is_heard_all_the_same(desk):
    answers = [desk.text("HELP") for _ in range(30)]

    assert sum(one is not None for one in answers) == 10
    assert desk.text("STOP") is None
    with desk.engine.connect() as conn:
        assert suppressed(conn, "text", NUMBER) == {"all"}
    assert desk.text("HELP", at=NOON + timedelta(hours=25)) is not None


@pytest.mark.parametrize("body", ["STOP\0", "\ud83c STOP", "\0"])
def test_what_no_database_keeps_is_left_out_and_the_rest_is_heard(desk, body):
    desk.text(body)

    with desk.engine.connect() as conn:
        assert (suppressed(conn, "text", NUMBER) == {"all"}) is ("STOP" in body)


@pytest.mark.parametrize("body", ["OK", "HELP", "STOP", "START", "RAIN 0.8", "ROLL NO", "what?"])
def test_every_answer_costs_two_parts_at_most(desk, body):
    desk.text(body)
    (answer,) = desk.answers()

    assert gsm.size(answer.text).parts <= 2
    assert not gsm.size(answer.text).wide
    assert answer.priority == 0
