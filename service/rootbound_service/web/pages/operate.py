"""The operator's pages: runs, outbox, sources, settings, health; no field of anybody."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy import func, select

from rootbound_service.desk.weather_lines import HEADS, status_rows
from rootbound_service.errors import RefusedInput
from rootbound_service.nights.weather_state import look
from rootbound_service.settings import FROM_FILE
from rootbound_service.store.audits import Actor, log
from rootbound_service.store.channel_state import channel_states
from rootbound_service.store.claiming import drop_pending, retry_now
from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.store.outbox import STATUSES, counts
from rootbound_service.store.runs import runs_listed
from rootbound_service.store.schema import account, field, person, web_session
from rootbound_service.store.unreached import one_message, outbox_listed
from rootbound_service.web.access.forms import Form
from rootbound_service.web.access.reader import NotThere, Operator
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.settings import Settings

USUAL = ("pending", "sending", "dead", "expired", "unknown")
"""What an operator looks for first: what has not arrived."""
RETRY = timedelta(hours=24)
SHOWN = 200

routes = APIRouter()


@routes.get("/operate")
def operate(request: Request, desk: Served, who: Operator) -> Response:
    """Show how the service does."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        open_sessions = select(func.count()).where(
            web_session.c.ended_at.is_(None), web_session.c.ends_at > now
        )
        figures = [
            ("fields", conn.scalar(select(func.count()).select_from(field))),
            ("people", conn.scalar(select(func.count()).select_from(person))),
            ("accounts", conn.scalar(select(func.count()).select_from(account))),
            ("open sessions", conn.scalar(open_sessions)),
        ]
        runs, messages = runs_listed(conn), counts(conn)
        beats, channels = heartbeats(conn), channel_states(conn)
    return shown(
        request,
        who,
        "operate",
        part="operate",
        now=now,
        figures=figures,
        runs=runs,
        messages=messages,
        beats=[(name, now - beat.at, beat.detail) for name, beat in beats.items()],
        channels=[(name, state, state.left_alone(now)) for name, state in channels.items()],
    )


@routes.get("/operate/outbox")
def outbox(
    request: Request,
    desk: Served,
    who: Operator,
    status: Annotated[str, Query(max_length=20)] = "",
) -> Response:
    """List messages by what became of them."""
    asked = [status] if status in STATUSES else list(USUAL)
    with desk.reading() as conn:
        listed = outbox_listed(conn, asked)[:SHOWN]
        messages = counts(conn)
    return shown(
        request,
        who,
        "operate_outbox",
        part="operate",
        listed=listed,
        messages=messages,
        only=status,
        statuses=STATUSES,
    )


@routes.get("/operate/outbox/{number}")
def message(request: Request, desk: Served, who: Operator, number: int) -> Response:
    """Show one message and every try to send it."""
    with desk.reading() as conn:
        try:
            one, attempts = one_message(conn, number)
        except RefusedInput:
            raise NotThere("message") from None
    return shown(request, who, "operate_message", part="operate", one=one, attempts=attempts)


@routes.post("/operate/outbox/{number}")
def act(desk: Served, who: Operator, number: int, form: Form) -> Response:
    """Send a message again, or give it up."""
    now, do = desk.service.clock.now(), form.get("do")
    with desk.writing() as conn:
        if do == "retry":
            retry_now(conn, [number], now, now + RETRY)
        elif do == "drop" and form.get("why"):
            drop_pending(conn, [number], form.get("why")[:200])
        else:
            raise NotThere("deed")
        log(conn, Actor(None, who.person.id, "page"), now, f"outbox.{do}", message=number)
    return RedirectResponse(f"/operate/outbox/{number}", 303)


@routes.get("/operate/sources")
def sources(request: Request, desk: Served, who: Operator) -> Response:
    """Show how every source of weather stands."""
    now = desk.service.clock.now()
    state = look(desk.service.parts, now)
    rows = status_rows(state.sources, now.date())
    return shown(
        request, who, "operate_sources", part="operate", heads=HEADS, rows=rows, state=state
    )


@routes.get("/operate/settings")
def settings(request: Request, desk: Served, who: Operator) -> Response:
    """Show the settings as the service sees them; no secret."""
    told = settings_told(desk.service.settings)
    return shown(request, who, "operate_settings", part="operate", told=told)


def settings_told(found: Settings) -> list[tuple[str, str, bool]]:
    """Give each setting with its value as far as it may be shown, and whether it was set.

    Parameters
    ----------
    found
        The settings.
    """
    told: list[tuple[str, str, bool]] = []
    for name in type(found).model_fields:
        value = getattr(found, name)
        secret = name in FROM_FILE
        text = ("set, not shown" if value else "not set") if secret else str(value)
        told.append((f"ROOTBOUND_{name.upper()}", text, name in found.model_fields_set))
    return told
