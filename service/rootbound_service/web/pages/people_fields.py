"""What somebody is silent about, and of which fields they are the second contact."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from rootbound_service.records import Silence
from rootbound_service.store.audits import log
from rootbound_service.store.seconds import end_second, put_second
from rootbound_service.store.silences import MOST_DAYS, put_silence
from rootbound_service.web.access.forms import Form
from rootbound_service.web.access.reader import Adviser, NotThere
from rootbound_service.web.guard import MOST_NUMBER
from rootbound_service.web.pages.frame import own_field, today_of
from rootbound_service.web.pages.people_may import managed, member
from rootbound_service.web.parts import Served

routes = APIRouter()


@routes.post("/people/{person_id}/silence")
def silence(desk: Served, who: Adviser, person_id: int, form: Form) -> Response:
    """Tell somebody nothing of a field for some days, or tell them again."""
    now = desk.service.clock.now()
    days, field_id = form.number("days", MOST_DAYS), form.number("field", MOST_NUMBER)
    if days is None or field_id is None:
        raise NotThere("days")
    with desk.writing() as conn:
        one = managed(conn, who, person_id)
        own_field(conn, who, field_id)
        until = today_of(one, now) + timedelta(days=days - 1)
        put_silence(conn, Silence(one.id, field_id, until, now, "page"))
        told = {"person": one.id, "until": until.isoformat()}
        log(conn, who.actor, now, "person.silence", field_id, **told)
    return RedirectResponse(f"/people/{person_id}?said=silence#silent", 303)


@routes.post("/people/{person_id}/second")
def second(desk: Served, who: Adviser, person_id: int, form: Form) -> Response:
    """Make somebody hear of a field when nobody answers, or no more."""
    now, field_id = desk.service.clock.now(), form.number("field", MOST_NUMBER)
    if field_id is None:
        raise NotThere("field")
    with desk.writing() as conn:
        one, _ = member(conn, who, person_id)
        field = own_field(conn, who, field_id)
        if form.get("end"):
            end_second(conn, field_id, one.id)
        elif field.grower.id == one.id:
            raise NotThere("field")  # the grower hears first; the page does not offer it
        else:
            put_second(conn, field_id, one.id)
        what = "second.end" if form.get("end") else "second.name"
        log(conn, who.actor, now, what, field_id, person=one.id)
    return RedirectResponse(f"/people/{person_id}?said=changed#second", 303)
