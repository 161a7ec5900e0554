"""The page of a sent note: read it again, say that it was seen, silence a field."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, Response
from sqlalchemy import Connection, Row, select

from rootbound_service.notes.en.seen_words import CARE
from rootbound_service.notes.units import unit_name
from rootbound_service.records import Silence
from rootbound_service.store.acknowledgements import seasons_told
from rootbound_service.store.people import person_with
from rootbound_service.store.schema import field, outbox, season
from rootbound_service.store.silences import MOST_DAYS, put_silence, silenced_fields
from rootbound_service.telling.seen import acknowledge_message
from rootbound_service.web.parts import Desk, no_such_link, page

CHOICES = (3, 7, 14, MOST_DAYS)


def router(desk: Desk) -> APIRouter:
    """Make the routes.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.get("/n/{token}")
    def read(token: str) -> HTMLResponse:
        return shown(desk, token, "")

    @routes.post("/n/{token}/seen")
    def seen(token: str) -> Response:
        number = desk.number("note", token)
        if number is None:
            return no_such_link()
        with desk.service.engine.begin() as conn:
            told = acknowledge_message(conn, number, desk.service.clock.now(), "page")
        return shown(
            desk, token, "Noted: you have seen it." if told else "There is nothing to see."
        )

    @routes.post("/n/{token}/silence")
    def silence(
        token: str, field_id: Annotated[int, Form()], days: Annotated[int, Form()]
    ) -> Response:
        number, now = desk.number("note", token), desk.service.clock.now()
        if number is None:
            return no_such_link()
        with desk.service.engine.begin() as conn:
            row = note_message(conn, number)
            mine = dict(note_fields(conn, number))
            if row is None or field_id not in mine or not 0 <= days <= MOST_DAYS:
                return no_such_link()
            until = _today(conn, row.person_id, now) + timedelta(days=days - 1)
            put_silence(conn, Silence(row.person_id, field_id, until, now, "page"))
        name = mine[field_id]
        if days == 0:
            return shown(desk, token, f"You hear of {name} again.")
        return shown(desk, token, f"No notes on {name} until {until:%B} {until.day}.")

    return routes


def shown(desk: Desk, token: str, said: str, status: int = 200) -> HTMLResponse:
    """Show the page, with what has just been done at its top.

    Parameters
    ----------
    desk
        The service.
    token
        Of the note.
    said
        What was done; empty: nothing.
    status
        HTTP status.
    """
    number = desk.number("note", token)
    if number is None:
        return no_such_link()
    with desk.service.engine.execution_options(ro=True).connect() as conn:
        row = note_message(conn, number)
        if row is None:
            return no_such_link()
        today = _today(conn, row.person_id, desk.service.clock.now())
        silent = silenced_fields(conn, row.person_id, today)
        fields = [(one, name, silent.get(one)) for one, name in note_fields(conn, number)]
        unit = unit_name(person_with(conn, row.person_id).units)
    own = (row.id, row.contact_id, row.kind)
    text = desk.links.filled(row.text, *own)
    return page(
        "note", status, token=token, said=said, subject=row.subject or "Note", text=text,
        fields=fields, choices=CHOICES, letter=bool(row.html), today=today, unit=unit, care=CARE,
    )  # fmt: skip


def note_message(conn: Connection, number: int) -> Row[Any] | None:
    """Give the note of a number; other messages have no page."""
    query = select(outbox).where(outbox.c.id == number, outbox.c.kind == "note")
    row = conn.execute(query).one_or_none()
    return row if row is not None and row.person_id is not None else None


def note_fields(conn: Connection, number: int) -> list[tuple[int, str]]:
    """List the fields that a note tells of, by name."""
    seasons = seasons_told(conn, number)
    query = select(field.c.id, field.c.name).join(season, season.c.field_id == field.c.id)
    rows = conn.execute(query.where(season.c.id.in_(seasons)).order_by(field.c.name))
    return [(row.id, row.name) for row in rows]


def _today(conn: Connection, person_id: int, now: datetime) -> date:
    """The day it is by the reader's clock."""
    zone = person_with(conn, person_id).time_zone
    return now.astimezone(ZoneInfo(zone or "UTC")).date()
