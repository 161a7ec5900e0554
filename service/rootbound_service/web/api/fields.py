"""Fields over the API: listed, looked at, enrolled."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, Field

from rootbound_service.intake.fields import field_record
from rootbound_service.nights.pictures import unpacked_picture
from rootbound_service.store.audits import log
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.fields import add_field
from rootbound_service.store.risk import risk_of_seasons
from rootbound_service.store.schema import field
from rootbound_service.store.season_pictures import pictures_of
from rootbound_service.store.standings import fitting
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Enrols, Reads
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.problems import responses
from rootbound_service.web.api.shapes import MOST_ID, FieldIn, FieldOut, FieldPage, Id, SeasonOut
from rootbound_service.web.api.told import field_out, season_out
from rootbound_service.web.pages.frame import own_field
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import FieldRecord

routes = APIRouter(tags=["fields"])


class Asked(BaseModel):
    """Which fields; those of smaller numbers come first, whatever changes meanwhile."""

    grower: int | None = Field(None, ge=1, le=MOST_ID)
    crop: Literal["maize", "soybean", "sorghum"] | None = None
    rung: int | None = Field(None, ge=0, le=4)
    status: Literal["watched", "unrated", "unknown", "waiting", "finished"] | None = None
    q: str = Field("", max_length=80, description="Part of a field's or a grower's name")
    after: int = Field(0, ge=0, le=MOST_ID, description="As the last page's next says")
    limit: int = Field(50, ge=1, le=200)


@routes.get("/fields", responses=responses())
def list_fields(
    desk: Served, caller: Reads, asked: Annotated[Asked, Query()], request: Request, out: Response
) -> FieldPage:
    """List fields, a page at a time, with how they stand."""
    who = caller.reader
    wanted = replace(
        who.wanted(),
        crop=asked.crop or "",
        status=asked.status or "",
        rungs=() if asked.rung is None else (asked.rung,),
        text=asked.q,
    )
    if asked.grower is not None and wanted.grower_id is None:
        wanted = replace(wanted, grower_id=asked.grower)
    with desk.reading() as conn:
        ids = fitting(conn, wanted, asked.after, asked.limit + 1)
        some = ids[: asked.limit]
        found = load_fields(conn, *who.own(), field.c.id.in_(some)) if some else []
        told = _told(conn, found)
    onward = str(some[-1]) if len(ids) > asked.limit else None
    if onward is not None:
        url = request.url.include_query_params(after=onward)
        out.headers["Link"] = f'<{url.path}?{url.query}>; rel="next"'
    return FieldPage(fields=told, next=onward)


@routes.post("/fields", status_code=201, response_model=FieldOut, responses=responses(409))
def enrol(desk: Served, caller: Enrols, sent: FieldIn, key: Key = None) -> Response:
    """Enrol a field; its soil is fetched in the night unless a texture is given."""
    who, now = caller.reader, desk.service.clock.now()

    def act() -> FieldOut:
        values = {name: one for name, one in sent.model_dump().items() if one is not None}
        values["adviser"] = f"{who.person.name} <{who.person.email}>"
        record = replace(field_record(values, today=now), account_id=who.account_id)
        with desk.writing() as conn:
            stored = add_field(conn, record, now)
            log(conn, who.actor, now, "field.enrol", stored.id)
        return field_out(stored, None)

    return once(desk, caller, key, ("POST /fields", sent.model_dump(mode="json")), act)


@routes.get("/fields/{field_id}", responses=responses(404))
def one_field(desk: Served, caller: Reads, field_id: Id) -> FieldOut:
    """Give one field with how it stands."""
    with desk.reading() as conn:
        return _told(conn, [own_field(conn, caller.reader, field_id)])[0]


@routes.get("/fields/{field_id}/season", responses=responses(404))
def season(desk: Served, caller: Reads, field_id: Id) -> SeasonOut:
    """Give the season's days of both twins, as last computed, and the outlook."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
        packed = pictures_of(conn, [one.season_id]).get(one.season_id)
    if packed is None:
        raise NotThere("season computed yet")
    return season_out(unpacked_picture(packed))


def _told(conn: Connection, found: list[FieldRecord]) -> list[FieldOut]:
    rows = risk_of_seasons(conn, [one.season_id for one in found])
    return [field_out(one, rows.get(one.season_id)) for one in found]
