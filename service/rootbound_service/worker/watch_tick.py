"""Watches the service itself: silence must never look like "no risk".

The report of the morning comes once a day. What cannot wait comes at once, and once: a night
that is not there by its hour, messages that were given up, a channel that is left alone.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nights.operator import in_short, operator_message
from rootbound_service.notes.operator import morning_message
from rootbound_service.settings import NIGHT_HOUR_UTC
from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.heartbeats import beat, heartbeats
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.runs import claim_period, last_run
from rootbound_service.worker.morning import failures_untold, morning_of
from rootbound_service.worker.ticks import night_now

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

    from rootbound_service.records import OutboxMessage
    from rootbound_service.settings import Settings
    from rootbound_service.wiring import Service

REPORT = time(11)
"""The report comes from this hour on, by UTC: the night and its first retries are over."""
LATE = timedelta(hours=3)
"""So long after its hour a night is missing."""
AWAY = timedelta(hours=2)
"""A worker that nobody saw for so long was away."""
PART = "worker"
_log = structlog.get_logger(__name__)


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
    away = [_was_away(before.at, address, now)] if before and now - before.at > AWAY else []
    return (
        _tell(service, lambda _: away)
        + _tell(service, lambda conn: _urgent(conn, address, now))
        + _tell(service, lambda conn: _later(conn, service.settings, address, now))
    )


def _tell(service: Service, words: Callable[[Connection], list[OutboxMessage]]) -> int:
    """Put messages in the outbox; one kind that cannot be worded never stops the others."""
    try:
        with service.engine.begin() as conn:
            return enqueue(conn, words(conn))
    except Exception as error:  # noqa: BLE001  the worker goes on, and the log has it
        _log.error("operator_not_told", error=in_short(error))
        return 0


def _later(
    conn: Connection, settings: Settings, address: str, now: datetime
) -> list[OutboxMessage]:
    """The morning's report; where none is wanted, word of what did not arrive alone."""
    if settings.operator_report:
        due = now.time() >= REPORT and claim_period(conn, "morning-report", f"{now.date()}", now)
        return [morning_message(morning_of(conn, now), address, now)] if due else []
    failures = failures_untold(conn, now)
    if not failures:
        return []
    lead = "They are tried no more; whoever they were for has not read them:"
    return [operator_message("Messages that did not arrive", lead, failures, address, now)]


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
    if run is not None and run.night > now.date():
        found += _ahead(conn, run.night, tonight, address, now)
    for channel, state in channel_states(conn).items():
        if state.open_until is None or not state.left_alone(now):
            continue
        if claim_period(
            conn, "channel-told", f"{channel} {state.failures // 5} {now:%Y-%m-%d}", now
        ):
            subject = f"Nothing goes out by {channel}"
            lead = f"It is tried again at {state.open_until:%H:%M} UTC; every message is kept."
            why = [f"The other side says: {state.why}."]
            found.append(operator_message(subject, lead, why, address, now))
    return found


def _ahead(
    conn: Connection, latest: date, tonight: date, address: str, now: datetime
) -> list[OutboxMessage]:
    """Word of a night that lies ahead of the clock, once a day: none is run before it."""
    if not claim_period(conn, "night-ahead", f"{latest} seen on {now:%Y-%m-%d}", now):
        return []
    subject = f"Night of {tonight}: it is not run, the clock went back"
    lead = f"The latest night is that of {latest}. Nobody is warned of anything until it is past."
    by_hand = f"run rootbound nightly by hand each day until {latest} is past."
    why = [
        f"By the clock of this host it is {now:%Y-%m-%d %H:%M} UTC; if that is wrong, set it.",
        f"If it is right, the clock was ahead before: {by_hand}",
    ]
    return [operator_message(subject, lead, why, address, now)]


def _was_away(seen: datetime, address: str, now: datetime) -> OutboxMessage:
    """Word of a worker that was not running."""
    hours = (now - seen).total_seconds() / 3600
    subject = f"The worker was away for {hours:.0f} hours"
    lead = "It is back. Tonight's night is run at once; what was too old to send is in the digests."
    return operator_message(
        subject, lead, [f"It was last seen at {seen:%Y-%m-%d %H:%M} UTC."], address, now
    )
