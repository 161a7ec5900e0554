"""Enrolling a field: typed or drawn, its soil shown, then kept at one press."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.background import BackgroundTask

from rootbound_rules.crop.words import CROPS
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.fields import field_record
from rootbound_service.intake.shapes import geometry_of
from rootbound_service.records import FieldRecord
from rootbound_service.soil.ask import Asked, ask_soil
from rootbound_service.soil.build import sources_at
from rootbound_service.soil.fetch import fetch_soils
from rootbound_service.store.audits import log
from rootbound_service.store.fields import add_field
from rootbound_service.store.once import taken_once
from rootbound_service.store.shapes import put_shape
from rootbound_service.store.standings import growers_with_mail
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import Adviser, Reader
from rootbound_service.web.pages.enrol_form import Wanted, carried, wanted_of
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.pages.soil_rows import WORDS, value_words
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.web.parts import Desk

ASK_S = 8.0
"""So long somebody waits for the soil at the edge of a field. [s]"""
ASKING = ThreadPoolExecutor(4, thread_name_prefix="soil")

routes = APIRouter()


@routes.get("/fields/new")
def blank(request: Request, desk: Served, who: Adviser) -> Response:
    """Show the empty form."""
    return _form(request, desk, who, {}, ())


@routes.post("/fields/new")
def send(request: Request, desk: Served, who: Adviser, form: Form) -> Response:
    """Show the soil of what was typed, or keep the field."""
    now = desk.service.clock.now()
    try:
        with desk.reading() as conn:
            growers = growers_with_mail(conn, who.account_id)
        wanted = wanted_of(form, who.person.units, growers, who.person)
        record = replace(field_record(wanted.values, today=now), account_id=who.account_id)
        if form.get("step") == "keep":
            return _keep(desk, who, form, wanted, record)
        if form.get("step") == "change":
            return _form(request, desk, who, carried(form, wanted), ())
    except RefusedInput as refused:
        return _form(request, desk, who, form.flat(), refused.problems)
    asked = _ask(desk, record)
    return shown(
        request,
        who,
        "enrol_soil",
        part="enrol",
        record=record,
        area=wanted.outline.area_ha if wanted.outline else 0.0,
        notice=wanted.outline.notice if wanted.outline else "",
        carried=carried(form, wanted),
        own=form.get("texture"),
        soil=[
            (WORDS[one.name][0], value_words(one.name, one.value), one.origin)
            for one in asked.values
        ],
        reasons=asked.reasons,
    )


def _ask(desk: Desk, record: FieldRecord) -> Asked:
    """Ask the soil services now, and not for long: what fails is asked again in the nights."""
    parts = desk.service.parts
    sources = sources_at(parts.order, parts.soils)(record.lat, record.lon)
    answer = ASKING.submit(ask_soil, sources, record.lat, record.lon)
    try:
        return answer.result(ASK_S)
    except TimeoutError:
        answer.cancel()
        why = f"no soil service answered within {ASK_S:.0f} seconds"
    except Exception as error:  # noqa: BLE001  a service that breaks costs nobody the enrolment
        why = f"the soil service failed ({type(error).__name__})"
    return Asked(None, (), (why,), retry_later=True)


def _keep(desk: Desk, who: Reader, form: Sent, wanted: Wanted, record: FieldRecord) -> Response:
    """Store the field, once however often it is pressed; its soil comes right after."""
    now = desk.service.clock.now()
    with desk.writing() as conn:
        before = taken_once(conn, who.actor, "field.enrol", form.get("form_id"))
        if before is not None:
            return RedirectResponse(f"/fields/{before}?said=enrolled", 303)
        stored = add_field(conn, record, now)
        if wanted.outline is not None and wanted.outline.rings:
            put_shape(conn, stored.id, geometry_of(wanted.outline), wanted.outline.area_ha)
        log(conn, who.actor, now, "field.enrol", stored.id, form=form.get("form_id"))
    onward = RedirectResponse(f"/fields/{stored.id}?said=enrolled", 303)
    if not stored.soil.is_known:
        parts = desk.service.parts
        at = sources_at(parts.order, parts.soils)
        onward.background = BackgroundTask(fetch_soils, parts.engine, at, (stored,), now)
    return onward


def _form(
    request: Request,
    desk: Desk,
    who: Reader,
    typed: Mapping[str, str],
    problems: tuple[Problem, ...],
) -> Response:
    now = desk.service.clock.now()
    with desk.reading() as conn:
        growers = growers_with_mail(conn, who.account_id)
    return shown(
        request,
        who,
        "enrol",
        422 if problems else 200,
        part="enrol",
        typed=defaultdict(str, typed),
        problems=problems,
        growers=growers,
        crops=CROPS,
        today=today_of(who.person, now),
        form_id=typed.get("form_id") or str(uuid4()),
        unit="in" if who.person.units == "us" else "cm",
        usual=("30", "2") if who.person.units == "us" else ("76", "5"),
    )
