"""The operator hears every morning how it went, and at once what cannot wait."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select, update

from rootbound_service.clock import SetClock
from rootbound_service.settings import load_settings
from rootbound_service.store.channel_state import ChannelState, put_channel_state
from rootbound_service.store.claiming import claim
from rootbound_service.store.delivery import mark_dead
from rootbound_service.store.outbox import enqueue, load_messages
from rootbound_service.store.receipts import add_receipt
from rootbound_service.store.runs import finish_run, start_run
from rootbound_service.store.schema import outbox
from rootbound_service.wiring import open_service
from rootbound_service.worker.watch_tick import watch_tick
from service.channels.fakes import message
from tables import put_tables

MORNING = datetime(2026, 7, 14, 11, 30, tzinfo=UTC)
OPERATOR = "operator@rootbound.example"


@pytest.fixture
def service(tmp_path):
    env = {"ROOTBOUND_DATA_DIR": str(tmp_path), "ROOTBOUND_OPERATOR_EMAIL": OPERATOR}
    put_tables(tmp_path)
    with open_service(load_settings(env), SetClock(MORNING)) as opened:
        yield opened


def ran(service, night="2026-07-14", failed=0):
    begun = datetime.fromisoformat(f"{night}T09:00").replace(tzinfo=UTC)
    with service.engine.begin() as conn:
        start_run(conn, begun.date(), begun)
        finish_run(conn, begun.date(), begun + timedelta(minutes=3), 12, failed, "all came")


def told(service):
    """Subjects and texts that wait for the operator; taken away, so that the next are new."""
    with service.engine.begin() as conn:
        ids = conn.scalars(
            select(outbox.c.id).where(outbox.c.to_address == OPERATOR, outbox.c.status == "pending")
        ).all()
        found = load_messages(conn, ids)
        conn.execute(update(outbox).where(outbox.c.id.in_(ids)).values(status="sent"))
    return {one.subject: one.text for one in found}


def test_the_morning_after_a_good_night_has_its_figures_and_comes_once(service):
    ran(service)
    watch_tick(service)
    watch_tick(service)

    ((subject, text),) = told(service).items()
    assert subject == "Morning report, night of 2026-07-14: all well"
    assert "12 computed, 0 without an answer, in 3.0 min" in text
    service.clock.set(MORNING + timedelta(minutes=20))
    assert watch_tick(service) == 0


def test_before_eleven_there_is_no_report(service):
    ran(service)
    service.clock.set(MORNING - timedelta(hours=1))

    assert watch_tick(service) == 0


def test_whoever_wants_no_report_still_hears_what_cannot_wait(tmp_path):
    env = {
        "ROOTBOUND_DATA_DIR": str(tmp_path),
        "ROOTBOUND_OPERATOR_EMAIL": OPERATOR,
        "ROOTBOUND_OPERATOR_REPORT": "false",
    }
    put_tables(tmp_path)
    with open_service(load_settings(env), SetClock(MORNING + timedelta(hours=1))) as service:
        watch_tick(service)
        assert list(told(service)) == ["Night of 2026-07-14: it is not there"]


def test_a_night_that_is_not_there_by_noon_is_told_once(service):
    ran(service, "2026-07-13")
    service.clock.set(MORNING + timedelta(hours=1))
    watch_tick(service)
    watch_tick(service)

    found = told(service)
    assert (
        "No night was finished since the night of 2026-07-13."
        in found["Night of 2026-07-14: it is not there"]
    )
    assert watch_tick(service) == 0


def test_a_night_that_lies_ahead_of_the_clock_is_told_once_a_day_with_the_mend(service):
    ran(service, "2026-07-17")
    service.clock.set(MORNING - timedelta(hours=1))
    watch_tick(service)

    found = told(service)
    subject = "Night of 2026-07-14: it is not run, the clock went back"
    assert "The latest night is that of 2026-07-17" in found[subject]
    assert "rootbound nightly by hand each day until 2026-07-17 is past" in found[subject]
    assert watch_tick(service) == 0


def test_a_worker_that_was_away_says_so_when_it_is_back(service):
    ran(service)
    watch_tick(service)
    told(service)
    service.clock.set(MORNING + timedelta(hours=5))
    watch_tick(service)

    assert "The worker was away for 5 hours" in told(service)


def test_a_channel_that_is_left_alone_is_told_with_what_the_other_side_says(service):
    ran(service)
    with service.engine.begin() as conn:
        left = ChannelState(1, MORNING + timedelta(minutes=10), "5.7.1 denied", MORNING)
        put_channel_state(conn, "email", left)
    watch_tick(service)
    watch_tick(service)

    found = told(service)
    assert "5.7.1 denied" in found["Nothing goes out by email"]
    assert "1 thing needs a hand" in next(one for one in found if one.startswith("Morning"))


def test_letters_given_up_stand_in_the_report_without_an_address(service):
    ran(service)
    with service.engine.begin() as conn:
        one = message(1, not_after=None, available_at=MORNING, created_at=MORNING, person_id=None)
        enqueue(conn, [one])
        (claimed,) = claim(conn, "me", MORNING, timedelta(minutes=5), 9)
        mark_dead(conn, claimed.id, "me", MORNING, 550, "5.1.1 no such mailbox")
    watch_tick(service)

    ((subject, text),) = told(service).items()
    assert "1 thing needs a hand" in subject
    assert f"Message {claimed.id} (note by email) was given up: 5.1.1 no such mailbox" in text
    assert "holt.example" not in text


def given_up(service, number, at):
    """A note that was given up at a moment."""
    with service.engine.begin() as conn:
        one = message(number, not_after=None, available_at=at, created_at=at, person_id=None)
        enqueue(conn, [one])
        (claimed,) = claim(conn, "me", at, timedelta(minutes=5), 9)
        mark_dead(conn, claimed.id, "me", at, 550, "5.1.1 no such mailbox")
    return claimed.id


def test_a_letter_given_up_between_two_reports_is_in_one_of_them_and_in_no_third(service):
    """Reports come minutes later one day than the other; nothing falls in between."""
    ran(service)
    watch_tick(service)
    told(service)
    number = given_up(service, 1, MORNING + timedelta(minutes=5))
    reports = []
    for after in (timedelta(days=1, minutes=9), timedelta(days=2)):
        service.clock.set(MORNING + after)
        ran(service, f"{(MORNING + after).date()}")
        watch_tick(service)
        reports.append("".join(told(service).values()))

    assert [f"Message {number} (" in report for report in reports] == [True, False]


def test_without_a_report_letters_given_up_are_told_alone_and_once(tmp_path):
    env = {
        "ROOTBOUND_DATA_DIR": str(tmp_path),
        "ROOTBOUND_OPERATOR_EMAIL": OPERATOR,
        "ROOTBOUND_OPERATOR_REPORT": "false",
    }
    put_tables(tmp_path)
    with open_service(load_settings(env), SetClock(MORNING)) as service:
        ran(service)
        number = given_up(service, 1, MORNING)
        watch_tick(service)
        found = told(service)
        assert f"Message {number} (" in found["Messages that did not arrive"]
        assert watch_tick(service) == 0


def test_a_letter_that_was_taken_and_came_back_is_told_too(service):
    ran(service)
    with service.engine.begin() as conn:
        enqueue(conn, [message(1, person_id=None)])
        number = conn.scalar(select(outbox.c.id))
        conn.execute(update(outbox).values(status="sent", sent_at=MORNING))
        add_receipt(conn, number, MORNING, "failed", "5.7.1", "5.7.1 not by our policy")
    watch_tick(service)

    ((_, text),) = told(service).items()
    assert f"Message {number} (note by email) was taken and came back: 5.7.1 not by our" in text


def test_a_report_before_tonight_is_done_does_not_look_well(service):
    ran(service, "2026-07-13")
    watch_tick(service)

    ((subject, text),) = told(service).items()
    assert subject == "Morning report, night of 2026-07-13: 1 thing needs a hand"
    assert "The night of 2026-07-14 is not finished" in text


def test_a_report_that_cannot_be_made_does_not_hide_what_cannot_wait(service, monkeypatch):
    def broken(_conn, _now):
        raise ValueError("a figure is missing")

    monkeypatch.setattr("rootbound_service.worker.watch_tick.morning_of", broken)
    service.clock.set(MORNING + timedelta(hours=1))
    watch_tick(service)
    assert list(told(service)) == ["Night of 2026-07-14: it is not there"]
    monkeypatch.undo()
    watch_tick(service)

    assert any(subject.startswith("Morning report") for subject in told(service))
