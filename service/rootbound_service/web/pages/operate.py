"""How the service does, for whoever runs it: nights, parts, channels; no field of anybody."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlalchemy import func, select

from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.store.outbox import counts
from rootbound_service.store.runs import last_run, runs_listed
from rootbound_service.store.schema import account, field, person, web_session
from rootbound_service.store.web_sessions import IDLE
from rootbound_service.web.access.reader import Operator
from rootbound_service.web.health import STALE
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.pages.operate_outbox import WORDS
from rootbound_service.web.pages.when import ago, moment
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.store.channel_state import ChannelState
    from rootbound_service.store.runs import RunRecord

SILENT_MINUTES = 30
"""A worker says every few minutes that it lives; after so long it does not. Our choice."""

routes = APIRouter()


@routes.get("/operate")
def operate(request: Request, desk: Served, who: Operator) -> Response:
    """Show it, what is wrong first."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        figures = _figures(conn, now)
        runs, last = runs_listed(conn), last_run(conn, finished_only=True)
        messages, beats = counts(conn), heartbeats(conn)
        channels = channel_states(conn)
    return shown(
        request,
        who,
        "operate",
        part="operate",
        place="how",
        figures=figures,
        late=troubles(last, channels, messages, now),
        last=None if last is None or last.finished_at is None else ago(now, last.finished_at),
        runs=runs,
        messages={name: many for name, many in messages.items() if many},
        words=WORDS,
        beats=[
            (name, ago(now, one.at), one.detail, (now - one.at).total_seconds() > _SILENT_S)
            for name, one in sorted(beats.items())
        ],
        channels=[(name, one, one.left_alone(now)) for name, one in sorted(channels.items())],
        clock=partial(moment, who.person),
        alone=who.reader is None,
    )


_SILENT_S = SILENT_MINUTES * 60


def troubles(
    last: RunRecord | None,
    channels: Mapping[str, ChannelState],
    messages: Mapping[str, int],
    now: datetime,
) -> list[str]:
    """Say what somebody has to look at, a sentence each; none: all is well.

    Parameters
    ----------
    last
        The last night that was finished.
    channels
        How each channel stands.
    messages
        Messages by status.
    now
        The time, aware.
    """
    found: list[str] = []
    if last is None or last.finished_at is None:
        found.append("No night was ever finished: is the worker running (rootbound worker)?")
    else:
        if now - last.finished_at > STALE:
            found.append(
                f"The last night was finished {ago(now, last.finished_at)}: one is missing."
            )
        if last.fields_failed:
            found.append(
                f"In the last night {last.fields_failed} of {last.fields_ok + last.fields_failed} "
                "fields could not be computed."
            )
        if not last.weather_came:
            found.append(f"Not all weather came in the last night: {last.weather}.")
    found += [
        f"Nothing goes by {name} now: {one.why}."
        for name, one in channels.items()
        if one.left_alone(now)
    ]
    if lost := messages.get("dead", 0) + messages.get("unknown", 0):
        found.append(f"{lost} in the outbox {'was' if lost == 1 else 'were'} given up or cut off.")
    return found


def _figures(conn: Connection, now: datetime) -> list[tuple[str, int]]:
    """How many there are of each: numbers only."""
    signed_in = (
        web_session.c.ended_at.is_(None),
        web_session.c.ends_at > now,
        web_session.c.seen_at > now - IDLE,
    )
    queries = {
        "fields": select(func.count()).select_from(field),
        "people": select(func.count()).select_from(person),
        "accounts": select(func.count()).select_from(account),
        "signed in": select(func.count()).select_from(web_session).where(*signed_in),
    }
    return [(name, conn.scalar(query) or 0) for name, query in queries.items()]
