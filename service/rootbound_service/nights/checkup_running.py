"""Whether the service runs: its nights, its worker, and what waits to be sent."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from rootbound_service.notes.en.quantities import count
from rootbound_service.public.finding import Finding
from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.store.runs import last_run
from rootbound_service.store.schema import outbox
from rootbound_service.store.unreached import dead_letters

if TYPE_CHECKING:
    from sqlalchemy import Connection

NIGHT_OLD = timedelta(hours=36)
"""A night and a half: one was missed."""
WAITS = timedelta(hours=1)
"""A message that is due goes within minutes; quiet hours are not counted, it is not due then."""
WORKER_AWAY = timedelta(hours=2)
LATELY = timedelta(days=7)
START, WORKER = "start the worker, or the unit that runs it", "rootbound worker"
BY_HAND, NIGHT = "run one now, then see that the worker runs", "rootbound nightly"
NO_NIGHT = "the clock was ahead then, or is behind now; no night is run until it has come up to it"
SET_RIGHT = "set the clock right; if it is, run each night by hand until then"
LISTED = "rootbound outbox list"


@dataclass(frozen=True, slots=True)
class Running:
    """What the store says of the service; nothing that names anybody."""

    growing: int = 0
    """Fields that a night would compute."""
    night_done: datetime | None = None
    """When the latest night was finished."""
    latest: date | None = None
    """Which night that was."""
    failed: int = 0
    """Fields without an answer in it."""
    worker_seen: datetime | None = None
    oldest_due: datetime | None = None
    """Since when the message waits that has been due for longest."""
    lapsed: int = 0
    """Messages that a sender took and never came back to."""
    given_up: int = 0
    """Messages of late that nobody got."""
    left_alone: dict[str, datetime] = field(default_factory=dict[str, datetime])
    """Ways out that are closed, and until when."""


def read_running(conn: Connection, growing: int, now: datetime) -> Running:
    """Read how the service stands.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    growing
        How many fields a night would compute.
    now
        The moment, aware UTC.
    """
    run = last_run(conn, finished_only=True)
    worker = heartbeats(conn).get("worker")
    states = channel_states(conn)
    closed = {name: one.open_until for name, one in states.items() if one.left_alone(now)}
    c = outbox.c
    due = select(func.min(c.available_at)).where(c.status == "pending", c.available_at <= now)
    lapsed = select(func.count()).where(c.status == "sending", c.claimed_until < now - WAITS)
    return Running(
        growing=growing,
        night_done=run.finished_at if run else None,
        latest=run.night if run else None,
        failed=run.fields_failed if run else 0,
        worker_seen=worker.at if worker else None,
        oldest_due=conn.scalar(due),
        lapsed=conn.scalar(lapsed) or 0,
        given_up=len(dead_letters(conn, now - LATELY)),
        left_alone={name: until for name, until in closed.items() if until is not None},
    )


def check_running(seen: Running, now: datetime) -> list[Finding]:
    """Look how the service stands.

    Parameters
    ----------
    seen
        What the store says.
    now
        The moment, aware UTC.
    """
    return [
        _night(seen, now),
        _answers(seen),
        _worker(seen, now),
        _outbox(seen, now),
        *_lapsed(seen),
        _given_up(seen),
        *_ways(seen, now),
    ]


def _night(seen: Running, now: datetime) -> Finding:
    what, done = "last night", seen.night_done
    if not seen.growing:
        return Finding(what, well=True, said="no field grows now; none is needed")
    if seen.latest is not None and seen.latest > now.date():
        said = f"the latest is that of {seen.latest}, which is still to come"
        return Finding(what, well=False, said=said, why=NO_NIGHT, mend=SET_RIGHT, run=NIGHT)
    if done is not None and now - done <= NIGHT_OLD:
        return Finding(what, well=True, said=f"finished {_hours(now - done)} ago")
    said = "none was ever finished" if done is None else f"finished {_hours(now - done)} ago"
    why = f"nobody is warned, and {count(seen.growing, 'field')} may run short"
    return Finding(what, well=False, said=said, why=why, mend=BY_HAND, run=NIGHT)


def _answers(seen: Running) -> Finding:
    what = "fields without an answer"
    if not seen.growing or not seen.failed:
        return Finding(what, well=True, said="none in the last night")
    why = "their people are told that nothing is known"
    mend = "rootbound fields names them, and this says what weather is missing"
    said, run = f"{seen.failed} in the last night", "rootbound weather status"
    return Finding(what, well=False, said=said, mend=mend, why=why, run=run)


def _worker(seen: Running, now: datetime) -> Finding:
    what, last = "worker", seen.worker_seen
    if last is None:
        return Finding(what, well=True, said="never ran on this store; nights are run by hand")
    if now - last <= WORKER_AWAY:
        return Finding(what, well=True, said=f"seen {_hours(now - last)} ago")
    why = "no night, no note and no digest comes while it is away"
    return Finding(
        what, well=False, said=f"last seen {_hours(now - last)} ago", mend=START, why=why
    )


def _outbox(seen: Running, now: datetime) -> Finding:
    what, since = "outbox", seen.oldest_due
    if since is None or now - since <= WAITS:
        return Finding(what, well=True, said="nothing has waited for long")
    said = f"a message has been due for {_hours(now - since)}"
    why = "a note that comes late is too late for the field"
    mend = "send now, and read what it says"
    return Finding(what, well=False, said=said, mend=mend, why=why, run="rootbound send")


def _lapsed(seen: Running) -> list[Finding]:
    if not seen.lapsed:
        return []
    said = f"{count(seen.lapsed, 'message')} taken by a sender that never came back"
    why = "it was killed; another takes them over, and none does"
    return [Finding("sender", well=False, said=said, mend=START, why=why, run=WORKER)]


def _given_up(seen: Running) -> Finding:
    what = "messages given up"
    if not seen.given_up:
        return Finding(what, well=True, said=f"none in {LATELY.days} days")
    said = f"{seen.given_up} in {LATELY.days} days"
    why = "whoever they were for has not read them"
    mend = "see why of each, then retry or drop it"
    return Finding(what, well=False, said=said, mend=mend, why=why, run=LISTED)


def _ways(seen: Running, now: datetime) -> list[Finding]:
    return [
        Finding(
            f"way out: {name}",
            well=False,
            said=f"closed after failures, tried again in {_hours(until - now)}",
            why="every message by it waits",
            mend="look at the relay or the provider; this shows what waits and what was answered",
            run=LISTED,
        )
        for name, until in sorted(seen.left_alone.items())
    ]


def _hours(span: timedelta) -> str:
    """Say a span of time, in the unit that fits."""
    minutes = span.total_seconds() / 60
    if minutes < 120:  # noqa: PLR2004 - two hours
        return f"{minutes:.0f} min"
    hours = minutes / 60
    return f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.0f} days"  # noqa: PLR2004 - three days
