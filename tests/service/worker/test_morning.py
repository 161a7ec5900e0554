"""The morning's figures on each database, and failures that are told once."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from sqlalchemy import select, update

from rootbound_service.store.outbox import enqueue
from rootbound_service.store.receipts import add_receipt
from rootbound_service.store.runs import finish_run, start_run
from rootbound_service.store.schema import outbox
from rootbound_service.worker.morning import MOST, failures_untold, morning_of
from service.channels.fakes import message

NOW = datetime(2026, 7, 14, 11, 0, tzinfo=UTC)


def came_back(conn, many):
    enqueue(conn, [message(one, person_id=None, created_at=NOW) for one in range(1, many + 1)])
    conn.execute(update(outbox).values(status="sent", sent_at=NOW))
    for number in conn.scalars(select(outbox.c.id)).all():
        add_receipt(conn, number, NOW, "failed", "5.7.1", "refused by policy")


def test_the_figures_are_those_of_the_store(store):
    with store.begin() as conn:
        start_run(conn, date(2026, 7, 14), NOW - timedelta(minutes=4))
        finish_run(conn, date(2026, 7, 14), NOW - timedelta(minutes=1), 7, 2, "all came")
        came_back(conn, 1)
        found = morning_of(conn, NOW)

    assert (found.fields_ok, found.fields_failed, found.minutes) == (7, 2, 3.0)
    assert found.messages == {"sent": 1}
    assert len(found.troubles) == 1


def test_a_failure_is_told_once_and_many_are_counted(store):
    with store.begin() as conn:
        came_back(conn, MOST + 3)
        first, second = failures_untold(conn, NOW), failures_untold(conn, NOW)

    assert len(first) == MOST + 1
    assert first[-1].startswith("3 more did not arrive")
    assert second == []


def test_what_could_not_be_told_is_told_the_next_time(store):
    with store.begin() as conn:
        came_back(conn, 1)
    with store.connect() as conn:  # the transaction that was to tell it is rolled back
        assert len(failures_untold(conn, NOW)) == 1
        conn.rollback()
    with store.begin() as conn:
        assert len(failures_untold(conn, NOW)) == 1
