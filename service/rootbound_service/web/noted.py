"""What the reader of a note saw, recorded from its page without signing in."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form
from fastapi.responses import Response
from pydantic import BaseModel, Field
from sqlalchemy import Connection

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.observations import observation_records
from rootbound_service.intake.observations_keep import keep_typed
from rootbound_service.notes.units import unit_name
from rootbound_service.store.audits import Actor, log
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.people import person_with
from rootbound_service.store.schema import field
from rootbound_service.web.notes import note_fields, note_message, shown
from rootbound_service.web.parts import Desk, no_such_link


class Told(BaseModel):
    """What somebody saw on one field of the note."""

    field_id: int = Field(ge=1, le=2**31 - 1)
    rain: str = Field("", max_length=40)
    rolled: Literal["", "yes", "no"] = ""
    day: str = Field("", max_length=10)


def router(desk: Desk) -> APIRouter:
    """Make the route.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.post("/n/{token}/observe")
    def observe(token: str, told: Annotated[Told, Form()]) -> Response:
        number, now = desk.number("note", token), desk.service.clock.now()
        if number is None:
            return no_such_link()
        try:
            with desk.service.engine.begin() as conn:
                row = note_message(conn, number)
                if row is None or told.field_id not in dict(note_fields(conn, number)):
                    return no_such_link()
                name = _record(conn, row.person_id, told, now)
        except RefusedInput as refused:
            said = "; ".join(f"{one.where}: {one.what}, {one.wanted}" for one in refused.problems)
            return shown(desk, token, f"Nothing was recorded. {said}.", 422)
        return shown(desk, token, f"Recorded for {name}. It counts from tonight on.")

    return routes


def _record(conn: Connection, person_id: int, told: Told, now: datetime) -> str:
    """Record what the reader of a note saw; the name of the field."""
    (one,) = load_fields(conn, field.c.id == told.field_id)
    person = person_with(conn, person_id)
    rain = told.rain.strip()
    unit = "" if not rain[-1:].isdigit() else f" {unit_name(person.units)}"
    values: dict[str, object] = {
        "date": told.day or now.astimezone(ZoneInfo(one.time_zone)).date(),
        "rain": f"{rain}{unit}" if rain else None,
        "rolled": told.rolled or None,
        "by": person.name,
        "note": "by the link of a note",
    }
    given = {name: value for name, value in values.items() if value is not None}
    keep_typed(conn, one.season_id, observation_records(given, one, now))
    actor = Actor(one.account_id, person.id, "link")
    log(conn, actor, now, "observation.add", one.id)
    return one.name
