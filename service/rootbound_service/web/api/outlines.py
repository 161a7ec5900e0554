"""Outlines of fields over the API."""

from __future__ import annotations

from dataclasses import replace
from math import cos, hypot, radians
from typing import TYPE_CHECKING

from fastapi import APIRouter

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.shapes import geometry_of, outline_of
from rootbound_service.store.audits import log
from rootbound_service.store.shapes import put_shape, shape_of
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Enrols, Reads
from rootbound_service.web.api.base import Id
from rootbound_service.web.api.problems import SENDING, responses
from rootbound_service.web.api.shapes import OutlineIn, OutlineOut
from rootbound_service.web.pages.frame import own_field
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.intake.shapes import Outline
    from rootbound_service.records import FieldRecord

KM_PER_DEGREE = 111.2
"""Of latitude; near enough to tell a slip from a field. [km]"""
FAR_KM = 5.0
"""An outline farther than this from the field's place is another field's. [km]"""

routes = APIRouter(tags=["fields"])


@routes.get("/fields/{field_id}/outline", responses=responses(404))
def outline(desk: Served, caller: Reads, field_id: Id) -> OutlineOut:
    """Give a field's outline."""
    with desk.reading() as conn:
        own_field(conn, caller.reader, field_id)
        found = shape_of(conn, field_id)
    if found is None:
        raise NotThere("outline")
    return _out(dict(found[0]), found[1])


@routes.put("/fields/{field_id}/outline", responses=responses(404, *SENDING))
def put_outline(desk: Served, caller: Enrols, field_id: Id, sent: OutlineIn) -> OutlineOut:
    """Keep a field's outline in place of what was kept; the place of the field stays."""
    who, now = caller.reader, desk.service.clock.now()
    with desk.writing() as conn:
        one = own_field(conn, who, field_id)
        found = _read(sent)
        _check_near(one, found)
        shape = geometry_of(found)
        put_shape(conn, field_id, shape, found.area_ha)
        log(conn, who.actor, now, "field.change", field_id, names=["outline"])
    return _out(shape, found.area_ha)


@routes.delete("/fields/{field_id}/outline", status_code=204, responses=responses(404))
def drop_outline(desk: Served, caller: Enrols, field_id: Id) -> None:
    """Take a field's outline away; the field stays."""
    who, now = caller.reader, desk.service.clock.now()
    with desk.writing() as conn:
        own_field(conn, who, field_id)
        if shape_of(conn, field_id) is None:
            raise NotThere("outline")
        put_shape(conn, field_id, None)
        log(conn, who.actor, now, "field.change", field_id, names=["outline"])


def _read(sent: OutlineIn) -> Outline:
    try:
        return outline_of(sent.model_dump())
    except RefusedInput as refused:
        found = tuple(replace(one, where="coordinates") for one in refused.problems)
        raise RefusedInput(found) from None


def _check_near(one: FieldRecord, found: Outline) -> None:
    lon, lat = found.middle
    east = (lon - one.lon) * cos(radians(one.lat))
    if KM_PER_DEGREE * hypot(lat - one.lat, east) > FAR_KM:
        what = f"the middle of the outline is more than {FAR_KM:.0f} km from the field's place"
        wanted = f"give longitude before latitude, near {one.lon:.3f}, {one.lat:.3f}"
        raise RefusedInput((Problem("coordinates", what, wanted),))


def _out(shape: dict[str, object], area_ha: float) -> OutlineOut:
    return OutlineOut.model_validate({**shape, "area_ha": round(area_ha, 3)})
