"""What the operator's report of a morning holds, read from the store."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from rootbound_service.notes.operator import Morning
from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.receipts import came_back
from rootbound_service.store.risk import risk_on
from rootbound_service.store.runs import claim_period, last_run
from rootbound_service.store.schema import outbox
from rootbound_service.store.unreached import dead_letters
from rootbound_service.worker.ticks import night_now

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.store.runs import RunRecord

DAY = timedelta(days=1)
BACK = timedelta(days=14)
"""A failure that nobody could be told of for so long is not told any more."""
MOST = 20
"""So many failures are told one by one; the others are counted."""
TOLD = "failure-told"


def morning_of(conn: Connection, now: datetime) -> Morning:
    """Read everything of the morning's report.

    Parameters
    ----------
    conn
        The transaction that also puts the report in the outbox: what it tells is told with it.
    now
        The time, aware UTC.
    """
    run = last_run(conn, finished_only=True)
    rows = risk_on(conn, run.night) if run else {}
    rungs = Counter(row.rung for row in rows.values() if row.status == "watched")
    return Morning(
        night=run.night if run else None,
        minutes=_minutes(run),
        fields_ok=run.fields_ok if run else 0,
        fields_failed=run.fields_failed if run else 0,
        rungs=(rungs[0], rungs[1], rungs[2], rungs[3], rungs[4]),
        unrated=sum(row.status == "unrated" for row in rows.values()),
        notes=len(notes_listed(conn, since=run.night)) if run else 0,
        messages=_sent(conn, now),
        weather=run.weather if run else "",
        troubles=(*_missing(run, now), *_silent(conn, now), *failures_untold(conn, now)),
    )


def failures_untold(conn: Connection, now: datetime) -> list[str]:
    """Say which messages did not arrive and were not told of before; from now on they were.

    Parameters
    ----------
    conn
        The transaction that also tells them.
    now
        The time, aware UTC.
    """
    told = [
        f"Message {one.id} ({one.kind} by {one.channel}) was given up: "
        f"{one.last_error or one.status}. See rootbound outbox show {one.id}."
        for one in dead_letters(conn, now - BACK)
        if claim_period(conn, TOLD, f"{one.id} try {one.attempts}", now)
    ]
    told += [
        f"Message {one.outbox_id} ({one.kind} by {one.channel}) was taken and came back: "
        f"{one.said or one.code or 'no reason given'}. See rootbound outbox show {one.outbox_id}."
        for one in came_back(conn, now - BACK)
        if claim_period(conn, TOLD, f"{one.outbox_id} back {one.at:%Y-%m-%d %H:%M:%S}", now)
    ]
    more = len(told) - MOST
    return (
        told if more <= 0 else [*told[:MOST], f"{more} more did not arrive: rootbound outbox list."]
    )


def _minutes(run: RunRecord | None) -> float | None:
    if run is None or run.finished_at is None:
        return None
    return (run.finished_at - run.started_at).total_seconds() / 60


def _sent(conn: Connection, now: datetime) -> dict[str, int]:
    """Messages of the past day by status, the operator's own left out."""
    query = select(outbox.c.status, func.count().label("many")).where(
        outbox.c.created_at > now - DAY, outbox.c.kind != "operator"
    )
    return {row.status: row.many for row in conn.execute(query.group_by(outbox.c.status))}


def _missing(run: RunRecord | None, now: datetime) -> list[str]:
    """A report must not look well because last night's figures stand in it."""
    tonight = night_now(now)
    if run is not None and run.night >= tonight:
        return []
    return [f"The night of {tonight} is not finished; the figures are those of an older one."]


def _silent(conn: Connection, now: datetime) -> list[str]:
    """Channels that are left alone now."""
    return [
        f"Nothing goes out by {channel}: {state.why}."
        for channel, state in channel_states(conn).items()
        if state.left_alone(now)
    ]
