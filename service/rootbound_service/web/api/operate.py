"""The service over the API, for whoever runs it: how it does, and no field of anybody."""

from __future__ import annotations

from fastapi import APIRouter

from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.store.outbox import counts
from rootbound_service.store.runs import last_run
from rootbound_service.web.api.access import Operates
from rootbound_service.web.api.account_shapes import HealthOut
from rootbound_service.web.api.problems import responses
from rootbound_service.web.parts import Served

routes = APIRouter(tags=["operate"])


@routes.get("/operate/health", responses=responses())
def health(desk: Served, caller: Operates) -> HealthOut:
    """Say how the service does; only a token of whoever runs it sees this."""
    del caller  # asked for to see that they may
    with desk.reading() as conn:
        run, messages, beats = last_run(conn), counts(conn), heartbeats(conn)
    return HealthOut(
        last_night=run.night if run else None,
        last_night_finished=run.finished_at if run else None,
        fields_ok=run.fields_ok if run else None,
        fields_failed=run.fields_failed if run else None,
        weather=run.weather if run else None,
        messages=dict(messages),
        parts={name: one.at for name, one in beats.items()},
    )
