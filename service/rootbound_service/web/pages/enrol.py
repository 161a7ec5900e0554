"""Enrolling a field: typed, tapped or uploaded, its soil shown, then kept at one press."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.background import BackgroundTask

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.shapes import geometry_of
from rootbound_service.records import FieldRecord
from rootbound_service.store.audits import log
from rootbound_service.store.enrolled import named, outsiders, seasons_named
from rootbound_service.store.fields import add_field
from rootbound_service.store.once import taken_once
from rootbound_service.store.shapes import put_shape
from rootbound_service.store.soil_record import NAMES as SOIL
from rootbound_service.store.standings import growers_with_mail
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import Adviser, Reader
from rootbound_service.web.pages import enrol_change
from rootbound_service.web.pages.enrol_form import Typed, record_of, typed_of
from rootbound_service.web.pages.enrol_pages import choice_page, form_page, soil_page
from rootbound_service.web.pages.enrol_soil import fetch_soil, memory_of
from rootbound_service.web.pages.enrol_words import complaints, form_id_of, titled
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.web.parts import Desk

ELSEWHERE = (
    "is the address of somebody whom nobody here can enrol by typing it",
    "invite them under People; once they have said yes, choose them here",
)

routes = APIRouter()
routes.include_router(enrol_change.routes)


@routes.get("/fields/new")
def blank(request: Request, desk: Served, who: Adviser) -> Response:
    """Show the empty form."""
    return form_page(request, desk, who, {})


@routes.post("/fields/new")
def send(request: Request, desk: Served, who: Adviser, form: Form) -> Response:
    """Show the soil of what was typed, or keep the field."""
    with desk.reading() as conn:
        growers = growers_with_mail(conn, who.account_id)
    typed, step = typed_of(form, who, growers), form.get("step")
    if step == "change":
        return form_page(request, desk, who, typed.kept)
    if typed.several:
        return choice_page(request, who, form, typed)
    try:
        record = record_of(typed, who, desk.service.clock.now())
        if step == "keep":
            return _keep(request, desk, who, form, typed, record)
        with desk.reading() as conn:
            further = further_season(conn, who, record)
    except RefusedInput as refused:
        return _again(request, desk, who, form, typed, refused)
    return soil_page(request, desk, who, form, typed, record, further=further)


def further_season(conn: Connection, who: Reader, record: FieldRecord) -> bool:
    """Tell whether this is the next season of a field that is there.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    who
        The adviser.
    record
        The field.

    Raises
    ------
    RefusedInput
        If it cannot be enrolled here: it is, or its grower is somebody of elsewhere.
    """
    email = record.grower.email
    if outsiders(conn, who.account_id, (email,)):
        raise RefusedInput((Problem(titled("grower_email"), *ELSEWHERE),))
    key = named(email, record.name)
    years = seasons_named(conn, who.account_id, {key}).get(key, {})
    planted = years.get(record.planted.year)
    if planted is not None:
        what = f"{record.grower.name} has a field of this name here, planted {planted}"
        wanted = "give it another name, or open the one that is there"
        raise RefusedInput((Problem(titled("name"), what, wanted),))
    return bool(years)


def _again(
    request: Request, desk: Desk, who: Reader, form: Sent, typed: Typed, refused: RefusedInput
) -> Response:
    """The page that the problems stand on: that of the soil, or the form."""
    boxes = {one.box for one in complaints(refused.problems)}
    if form.get("step") == "keep" and boxes <= set(SOIL):
        without = {name: value for name, value in typed.values.items() if name not in SOIL}
        record = record_of(replace(typed, values=without), who, desk.service.clock.now())
        return soil_page(request, desk, who, form, typed, record, problems=refused.problems)
    return form_page(request, desk, who, typed.kept, refused.problems)


def _keep(
    request: Request, desk: Desk, who: Reader, form: Sent, typed: Typed, record: FieldRecord
) -> Response:
    """Store the field, once however often it is pressed; its soil comes right after."""
    now, form_id = desk.service.clock.now(), form_id_of(form.get("form_id"))
    with desk.writing() as conn:
        before = taken_once(conn, who.actor, "field.enrol", form_id)
        if before is not None:
            return RedirectResponse(f"/fields/{before}?said=enrolled", 303)
        further_season(conn, who, record)
        stored = add_field(conn, record, now)
        outline = typed.outline
        if outline is not None and outline.rings:
            put_shape(conn, stored.id, geometry_of(outline), outline.area_ha)
        log(conn, who.actor, now, "field.enrol", stored.id, form=form_id)
    onward = RedirectResponse(f"/fields/{stored.id}?said=enrolled", 303)
    if not stored.soil.is_known:
        onward.background = BackgroundTask(fetch_soil, desk.service, memory_of(request), stored)
    return onward
