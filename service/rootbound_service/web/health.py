"""Whether the service works, for whoever watches it: a machine, in one word and a few figures."""

from __future__ import annotations

from datetime import datetime, timedelta

from fastapi import APIRouter
from fastapi.responses import JSONResponse
from sqlalchemy.exc import SQLAlchemyError

from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.outbox import counts
from rootbound_service.store.runs import last_run
from rootbound_service.web.parts import Desk

STALE = timedelta(hours=30)
"""A night later than this is missing: nights come every 24 hours."""


def router(desk: Desk) -> APIRouter:
    """Make the route.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.get("/healthz")
    def healthz() -> JSONResponse:
        try:
            told, well = _told(desk, desk.service.clock.now())
        except SQLAlchemyError as error:
            return JSONResponse({"ok": False, "why": type(error).__name__}, 503)
        return JSONResponse({"ok": well} | told, 200 if well else 503)

    return routes


def _told(desk: Desk, now: datetime) -> tuple[dict[str, object], bool]:
    """Figures, and whether they are as they should be; nothing that names anybody."""
    with desk.service.engine.execution_options(ro=True).connect() as conn:
        run = last_run(conn, finished_only=True)
        waiting = counts(conn)
        states = channel_states(conn)
    stopped = [channel for channel, state in states.items() if state.left_alone(now)]
    done = run.finished_at if run else None
    late = done is None or now - done > STALE
    told: dict[str, object] = {
        "last_night": run.night.isoformat() if run else None,
        "last_night_finished": done.isoformat() if done else None,
        "night_is_late": late,
        "waiting": waiting["pending"],
        "dead": waiting["dead"],
        "channels_left_alone": stopped,
    }
    return told, not late and not stopped
