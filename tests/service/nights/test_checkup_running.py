"""Whether the service runs: nights, worker, outbox, senders and ways out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import insert

from rootbound_service.nights.checkup_running import Running, check_running, read_running
from rootbound_service.store.channel_state import ChannelState, put_channel_state
from rootbound_service.store.heartbeats import beat
from rootbound_service.store.runs import finish_run, start_run
from rootbound_service.store.schema import delivery_attempt, outbox

NOW = datetime(2026, 7, 14, 11, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
WELL = Running(growing=3, night_done=NOW - 2 * HOUR, worker_seen=NOW - HOUR / 6)


def bad(**changes):
    found = check_running(replace(WELL, **changes), NOW)
    assert all(one.mend and one.why for one in found if not one.well)
    return [one for one in found if not one.well]


def test_a_service_that_runs_is_well():
    assert bad() == []


def test_a_store_without_fields_needs_no_night_and_no_worker():
    assert bad(growing=0, night_done=None, worker_seen=None) == []


@pytest.mark.parametrize(("hours", "well"), [(36, True), (37, False), (200, False)])
def test_a_night_older_than_a_day_and_a_half_is_bad_while_fields_grow(hours, well):
    assert (bad(night_done=NOW - hours * HOUR) == []) is well
    assert bad(night_done=NOW - hours * HOUR, growing=0) == []


def test_a_night_that_is_still_to_come_is_told_of_with_the_mend():
    ahead = {"latest": NOW.date() + timedelta(days=2), "night_done": NOW + 48 * HOUR}
    (found,) = bad(**ahead)

    assert "2026-07-16, which is still to come" in found.said
    assert "no night is run" in found.why
    assert "clock" in found.mend
    assert found.run == "rootbound nightly"
    assert bad(latest=NOW.date()) == bad(**ahead, growing=0) == []


def test_fields_without_any_night_are_told_of():
    (found,) = bad(night_done=None)

    assert found.said == "none was ever finished"
    assert "3 fields" in found.why
    assert found.run == "rootbound nightly"


def test_fields_without_an_answer_are_counted():
    (found,) = bad(failed=2)

    assert found.said == "2 in the last night"


@pytest.mark.parametrize(("hours", "well"), [(2, True), (3, False), (100, False)])
def test_a_worker_that_ran_and_is_away_is_bad(hours, well):
    assert (bad(worker_seen=NOW - hours * HOUR) == []) is well


def test_nights_run_by_hand_need_no_worker():
    assert bad(worker_seen=None) == []


@pytest.mark.parametrize(("minutes", "well"), [(1, True), (60, True), (61, False), (9000, False)])
def test_a_message_due_for_more_than_an_hour_is_bad(minutes, well):
    assert (bad(oldest_due=NOW - timedelta(minutes=minutes)) == []) is well


def test_messages_of_a_sender_that_was_lost_are_bad():
    (found,) = bad(lapsed=1)

    assert found.said == "1 message taken by a sender that never came back"


def test_messages_given_up_are_counted():
    assert bad(given_up=4)[0].said == "4 in 7 days"


def test_a_way_out_that_is_closed_is_named_with_when_it_is_tried_again():
    (found,) = bad(left_alone={"text": NOW + HOUR / 2})

    assert found.what == "way out: text"
    assert "tried again in 30 min" in found.said


def put(conn, key, **changes):
    usual = {"dedupe_key": key, "kind": "note", "channel": "email", "subject": "hidden-subject"}
    usual |= {"to_address": "ada@quill.example", "to_name": "Ada Quill", "text": "", "html": ""}
    usual |= {"created_at": NOW - 9 * HOUR, "available_at": NOW - 5 * HOUR, "priority": 1}
    usual |= {"thread_key": "", "quiet_zone": "", "status": "pending", "attempts": 0}
    return conn.execute(insert(outbox).values(usual | changes)).inserted_primary_key[0]


@pytest.fixture
def ill(store):
    """A store in which everything stands still, and beside it what is as it should be."""
    with store.begin() as conn:
        start_run(conn, date(2026, 7, 11), NOW - 73 * HOUR)
        finish_run(conn, date(2026, 7, 11), NOW - 72 * HOUR, 2, 1, "")
        start_run(conn, date(2026, 7, 14), NOW - HOUR)
        beat(conn, "worker", NOW - 50 * HOUR)
        put(conn, "due")
        put(conn, "later", available_at=NOW + HOUR)
        put(conn, "gone", available_at=NOW - 99 * HOUR, status="sent")
        put(conn, "lost", status="sending", claimed_until=NOW - 2 * HOUR)
        put(conn, "in hand", status="sending", claimed_until=NOW + HOUR)
        dead = put(conn, "dead", status="dead")
        tried = {"outbox_id": dead, "number": 1, "sender": "s", "at": NOW - HOUR}
        conn.execute(insert(delivery_attempt).values(tried | {"outcome": "x", "lease_held": True}))
        closed = ChannelState(5, NOW + HOUR, "no entry for ada@quill.example", NOW)
        put_channel_state(conn, "email", closed)
        put_channel_state(conn, "text", replace(closed, open_until=NOW - HOUR))
    return store


def test_the_store_is_read_for_what_stands_still_and_only_that(ill):
    with ill.connect() as conn:
        seen = read_running(conn, 3, NOW)

    assert seen == Running(
        growing=3,
        night_done=NOW - 72 * HOUR,
        latest=date(2026, 7, 11),
        failed=1,
        worker_seen=NOW - 50 * HOUR,
        oldest_due=NOW - 5 * HOUR,
        lapsed=1,
        given_up=1,
        left_alone={"email": NOW + HOUR},
    )


def test_a_message_that_waits_for_its_hour_is_not_due(store):
    with store.begin() as conn:
        put(conn, "later", available_at=NOW + HOUR)
        seen = read_running(conn, 3, NOW)

    assert seen == Running(growing=3)


def test_what_is_said_of_it_names_nobody(ill):
    with ill.connect() as conn:
        found = check_running(read_running(conn, 3, NOW), NOW)

    assert sum(not one.well for one in found) == 7
    for hidden in ("quill", "Quill", "hidden-subject"):
        assert hidden not in str(found)
