"""Figures for a monitoring system, in Prometheus's text form; nothing that names anybody."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.store.outbox import counts
from rootbound_service.store.risk import risk_on
from rootbound_service.store.runs import last_run
from rootbound_service.web.parts import Desk


def router(desk: Desk) -> APIRouter:
    """Make the route.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.get("/metrics")
    def metrics() -> Response:
        from prometheus_client import CONTENT_TYPE_LATEST

        return Response(_text(desk), media_type=CONTENT_TYPE_LATEST)

    return routes


def _text(desk: Desk) -> bytes:
    """Read the store anew: the figures are those of all processes, not of this one."""
    from prometheus_client import CollectorRegistry, Gauge, generate_latest

    registry = CollectorRegistry()

    def gauge(name: str, what: str, *labels: str) -> Gauge:
        return Gauge(f"rootbound_{name}", what, labels, registry=registry)

    now = desk.service.clock.now()
    with desk.service.engine.execution_options(ro=True).connect() as conn:
        run, messages = last_run(conn, finished_only=True), counts(conn)
        states, beats = channel_states(conn), heartbeats(conn)
        rows = risk_on(conn, now.date())
    outbox = gauge("outbox_messages", "Messages by status", "status")
    for status, many in messages.items():
        outbox.labels(status).set(many)
    left = gauge("channel_left_alone", "1 while nothing is sent by a channel", "channel")
    for channel, state in states.items():
        left.labels(channel).set(float(state.left_alone(now)))
    seen = gauge("seen_seconds_ago", "Seconds since a part was last seen alive", "part")
    for part, beat in beats.items():
        seen.labels(part).set((now - beat.at).total_seconds())
    if run is not None and run.finished_at is not None:
        age = (now - run.finished_at).total_seconds()
        gauge("night_seconds_ago", "Seconds since the last night was finished").set(age)
        gauge("fields_computed", "Fields computed in the last night").set(run.fields_ok)
        gauge("fields_without_answer", "Fields without an answer then").set(run.fields_failed)
    fields = gauge("fields", "Fields by how they stand", "status", "rung")
    for row in rows.values():
        fields.labels(row.status, "" if row.rung is None else str(row.rung)).inc()
    return generate_latest(registry)
