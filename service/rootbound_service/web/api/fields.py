"""Fields over the API: listed, looked at, enrolled, changed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field
from sqlalchemy import Connection

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.fields import field_record
from rootbound_service.store.audits import log
from rootbound_service.store.enrolled import outsiders
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.fields import add_field, set_elevation
from rootbound_service.store.risk import risk_of_seasons
from rootbound_service.store.schema import field
from rootbound_service.store.standings import fitting
from rootbound_service.web.api.access import Enrols, Reads
from rootbound_service.web.api.base import MOST_ID, PRINTED, Id
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.paging import Paged, link_next
from rootbound_service.web.api.problems import SENDING, responses
from rootbound_service.web.api.shapes import (
    CropName,
    FieldChange,
    FieldIn,
    FieldOut,
    FieldPage,
    Status,
)
from rootbound_service.web.api.soil_change import change_soil
from rootbound_service.web.api.told import field_out
from rootbound_service.web.dressing.look import MORE, bare, look
from rootbound_service.web.pages.enrol import ELSEWHERE
from rootbound_service.web.pages.frame import day_at, own_field
from rootbound_service.web.parts import Desk, Served

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from rootbound_service.records import FieldRecord, RiskRecord

routes = APIRouter(tags=["fields"])


class Asked(Paged):
    """Which fields."""

    grower: int | None = Field(None, ge=1, le=MOST_ID, description="Only this grower's")
    crop: CropName | None = None
    rung: int | None = Field(None, ge=0, le=4, description="Only those watched at this rung")
    status: Status | None = Field(None, description="As the last night found it")
    q: str = Field(
        "", max_length=80, pattern=PRINTED, description="Part of a field's or a grower's name"
    )


@routes.get("/fields", responses=responses())
def list_fields(
    request: Request, out: Response, desk: Served, caller: Reads, asked: Annotated[Asked, Query()]
) -> FieldPage:
    """List fields with how they stand, by number, which no night changes."""
    who = caller.reader
    wanted = replace(
        who.wanted(),
        crop=asked.crop or "",
        status=asked.status or "",
        rungs=() if asked.rung is None else (asked.rung,),
        text=asked.q,
    )
    if asked.grower is not None:
        if who.grower_id not in {None, asked.grower}:
            return FieldPage(fields=[], next=None)
        wanted = replace(wanted, grower_id=asked.grower)
    with desk.reading() as conn:
        ids = fitting(conn, wanted, asked.after or 0, asked.limit + 1)
        some = ids[: asked.limit]
        found = load_fields(conn, *who.own(), field.c.id.in_(some)) if some else []
        told = fields_out(desk, conn, found)
    onward = some[-1] if len(ids) > asked.limit else None
    link_next(request, out, onward)
    return FieldPage(fields=told, next=onward)


@routes.post("/fields", status_code=201, response_model=FieldOut, responses=responses(*SENDING))
def enrol(desk: Served, caller: Enrols, sent: FieldIn, key: Key = None) -> Response:
    """Enrol a field; without a soil of its own, soil services are asked in the night."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> FieldOut:
        values = {name: one for name, one in sent.model_dump().items() if one is not None}
        values["adviser"] = f"{who.person.name} <{who.person.email}>"
        record = replace(field_record(values, today=now), account_id=who.account_id)
        if outsiders(conn, who.account_id, (record.grower.email,)):
            raise RefusedInput((Problem("grower", *ELSEWHERE),))
        stored = add_field(conn, record, now)
        log(conn, who.actor, now, "field.enrol", stored.id)
        return fields_out(desk, conn, [stored])[0]

    return once(desk, caller, key, ("POST /fields", sent.model_dump(mode="json")), act)


@routes.get("/fields/{field_id}", responses=responses(404))
def one_field(desk: Served, caller: Reads, field_id: Id) -> FieldOut:
    """Give one field with how it stands, worked out to the full where the night kept less."""
    now, stale = desk.service.clock.now(), desk.service.settings.weather_stale_days
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
    seen = look(desk, one)
    row = seen.rows[-1] if seen.rows else None
    return field_out(one, row, day_at(one, now), stale, seen.said)


@routes.patch("/fields/{field_id}", responses=responses(404, *SENDING))
def change(desk: Served, caller: Enrols, field_id: Id, sent: FieldChange) -> FieldOut:
    """Change the elevation or the soil; it counts from the next night on."""
    who, now = caller.reader, desk.service.clock.now()
    named = sent.model_fields_set
    if not named:
        wanted = "name elevation_m, soil or both"
        raise RefusedInput((Problem("body", "nothing is to be changed", wanted),))
    with desk.writing() as conn:
        own_field(conn, who, field_id)
        if "elevation_m" in named:
            if sent.elevation_m is None:
                wanted = "give the elevation, -400 to 4000 m"
                raise RefusedInput((Problem("elevation_m", "cannot be taken away", wanted),))
            set_elevation(conn, field_id, sent.elevation_m)
        if sent.soil is not None:
            change_soil(conn, field_id, sent.soil, now)
        log(conn, who.actor, now, "field.change", field_id, names=sorted(named))
        return fields_out(desk, conn, [own_field(conn, who, field_id)])[0]


def fields_out(desk: Desk, conn: Connection, found: Sequence[FieldRecord]) -> list[FieldOut]:
    """Give fields with what their last nights kept; nothing is worked out for a list.

    Parameters
    ----------
    desk
        The service.
    conn
        The caller's transaction; reading is enough.
    found
        The fields.
    """
    now, stale = desk.service.clock.now(), desk.service.settings.weather_stale_days
    rows = risk_of_seasons(conn, [one.season_id for one in found])
    return [_listed(one, rows.get(one.season_id), day_at(one, now), stale) for one in found]


def _listed(one: FieldRecord, row: RiskRecord | None, today: date, stale: int) -> FieldOut:
    """One of several, which says where there is more to be had."""
    return field_out(one, row, today, stale, MORE if row is not None and bare(row) else "")
