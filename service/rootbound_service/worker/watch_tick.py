"""Watches the service itself: silence must never look like "no risk".

The report of the morning comes once a day. What cannot wait comes at once, and once: a night
that is not there by its hour, messages that were given up, a channel that is left alone.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from rootbound_service.nights.operator import operator_message
from rootbound_service.notes.operator import Morning, morning_message
from rootbound_service.settings import NIGHT_HOUR_UTC
from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.heartbeats import beat, heartbeats
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import risk_on
from rootbound_service.store.runs import claim_period, last_run
from rootbound_service.store.schema import outbox
from rootbound_service.store.unreached import dead_letters
from rootbound_service.worker.ticks import night_now

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import OutboxMessage
    from rootbound_service.store.runs import RunRecord
    from rootbound_service.wiring import Service

REPORT = time(11)
"""The report comes from this hour on, by UTC: the night and its first retries are over."""
LATE = timedelta(hours=3)
"""So long after its hour a night is missing."""
AWAY = timedelta(hours=2)
"""A worker that nobody saw for so long was away."""
DAY = timedelta(days=1)
PART = "worker"


def watch_tick(service: Service) -> int:
    """Tell the operator what there is to tell.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    int
        Messages that are new.
    """
    now, address = service.clock.now(), service.settings.operator_email
    with service.engine.begin() as conn:
        before = heartbeats(conn).get(PART)
        beat(conn, PART, now)
        if not address:
            return 0
        messages = [*_urgent(conn, address, now)]
        if before is not None and now - before.at > AWAY:
            messages.append(_was_away(before.at, address, now))
        if now.time() >= REPORT and service.settings.operator_report:
            messages.append(morning_message(_morning(conn, now), address, now))
        return enqueue(conn, messages)


def _urgent(conn: Connection, address: str, now: datetime) -> list[OutboxMessage]:
    """What cannot wait for the morning."""
    found: list[OutboxMessage] = []
    run, tonight = last_run(conn, finished_only=True), night_now(now)
    due = datetime.combine(tonight, time(NIGHT_HOUR_UTC), now.tzinfo) + LATE
    if now >= due and (run is None or run.night < tonight):
        since = "ever" if run is None else f"since the night of {run.night}"
        subject = f"Night of {tonight}: it is not there"
        lead = "Nobody is warned of anything until a night is run. It is tried every ten minutes."
        found.append(
            operator_message(subject, lead, [f"No night was finished {since}."], address, now)
        )
    for channel, state in channel_states(conn).items():
        if state.open_until is None or state.open_until <= now:
            continue
        if claim_period(
            conn, "channel-told", f"{channel} {state.failures // 5} {now:%Y-%m-%d}", now
        ):
            subject = f"Nothing goes out by {channel}"
            lead = f"It is tried again at {state.open_until:%H:%M} UTC; every message is kept."
            why = [f"The other side says: {state.why}."]
            found.append(operator_message(subject, lead, why, address, now))
    return found


def _was_away(seen: datetime, address: str, now: datetime) -> OutboxMessage:
    """Word of a worker that was not running."""
    hours = (now - seen).total_seconds() / 3600
    subject = f"The worker was away for {hours:.0f} hours"
    lead = "It is back. Tonight's night is run at once; what was too old to send is in the digests."
    return operator_message(
        subject, lead, [f"It was last seen at {seen:%Y-%m-%d %H:%M} UTC."], address, now
    )


def _morning(conn: Connection, now: datetime) -> Morning:
    """Everything of the morning's report."""
    run = last_run(conn, finished_only=True)
    rows = risk_on(conn, run.night) if run else {}
    rungs = Counter(row.rung for row in rows.values() if row.status == "watched")
    notes = notes_listed(conn, since=run.night) if run else []
    return Morning(
        night=run.night if run else None,
        minutes=_minutes(run),
        fields_ok=run.fields_ok if run else 0,
        fields_failed=run.fields_failed if run else 0,
        rungs=(rungs[0], rungs[1], rungs[2], rungs[3], rungs[4]),
        unrated=sum(row.status == "unrated" for row in rows.values()),
        notes=len(notes),
        messages=_sent(conn, now),
        weather=run.weather if run else "",
        troubles=tuple(_troubles(conn, now)),
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


def _troubles(conn: Connection, now: datetime) -> list[str]:
    """What needs a hand: letters given up, channels left alone."""
    dead = dead_letters(conn, now - DAY)
    told = [
        f"Message {one.id} ({one.kind} by {one.channel}) was given up: "
        f"{one.last_error or one.status}. See rootbound outbox show {one.id}."
        for one in dead[:20]
    ]
    if len(dead) > len(told):
        told.append(f"{len(dead) - len(told)} more were given up: rootbound outbox list.")
    for channel, state in channel_states(conn).items():
        if state.open_until is not None and state.open_until > now:
            told.append(f"Nothing goes out by {channel}: {state.why}.")
    return told
