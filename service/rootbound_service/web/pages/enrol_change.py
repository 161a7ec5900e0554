"""Correcting what was enrolled: name, place, outline, crop, and the soil that is known better."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.background import BackgroundTask

from rootbound_rules.crop.words import CROPS
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.limits import CM_PER_INCH
from rootbound_service.intake.shapes import geometry_of, outline_of
from rootbound_service.intake.soils import entered_soil
from rootbound_service.records import FieldRecord
from rootbound_service.soil.build import sources_at
from rootbound_service.soil.fetch import fetch_soils
from rootbound_service.store.audits import log
from rootbound_service.store.field_changes import change_field
from rootbound_service.store.schema import field
from rootbound_service.store.shapes import places_of, put_shape, shape_of
from rootbound_service.store.soil import change_by_hand, soil_values
from rootbound_service.store.soil_record import HAND, standing
from rootbound_service.store.soil_record import NAMES as SOIL
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import Adviser, Reader
from rootbound_service.web.pages.enrol_form import Typed, record_of, typed_of
from rootbound_service.web.pages.enrol_map import Neighbour, place_map, ring_of
from rootbound_service.web.pages.enrol_pages import MOST_ON_MAP, SOIL_BOXES, USUAL, size_words
from rootbound_service.web.pages.enrol_words import beside, complaints, titled
from rootbound_service.web.pages.frame import own_field, shown, today_of
from rootbound_service.web.pages.soil_rows import WORDS
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.web.parts import Desk

routes = APIRouter()


@routes.get("/fields/{field_id}/change")
def stand(request: Request, desk: Served, who: Adviser, field_id: int) -> Response:
    """Show what was enrolled, to be corrected."""
    with desk.reading() as conn:
        return _page(request, desk, conn, who, own_field(conn, who, field_id))


@routes.post("/fields/{field_id}/change")
def change(request: Request, desk: Served, who: Adviser, field_id: int, form: Form) -> Response:
    """Correct the field, or its soil, or have its soil fetched again."""
    now, step = desk.service.clock.now(), form.get("step")
    onward = RedirectResponse(f"/fields/{field_id}?said=changed", 303)
    typed: Typed | None = None
    try:
        with desk.writing() as conn:
            one = own_field(conn, who, field_id)
            if step == "fetch":
                parts = desk.service.parts
                at = sources_at(parts.order, parts.soils)
                log(conn, who.actor, now, "soil.fetch", field_id)
                onward.background = BackgroundTask(
                    fetch_soils, parts.engine, at, (one,), now, again=True
                )
            elif step == "soil":
                _change_soil(conn, desk, who, one, form)
            else:
                typed = _typed(form, who, one)
                _change_field(conn, desk, who, one, typed)
    except RefusedInput as refused:
        problems = [replace(it, where=titled(it.where)) for it in refused.problems]
        given = form.flat() if typed is None else dict(typed.kept)
        with desk.reading() as conn:
            one = own_field(conn, who, field_id)
            return _page(request, desk, conn, who, one, given, problems, soil_sent=step == "soil")
    return onward


def _typed(form: Sent, who: Reader, one: FieldRecord) -> Typed:
    """What was typed, for the people that the field has."""
    typed = typed_of(form, who, ())
    values = {name: it for name, it in typed.values.items() if name not in {*SOIL, "adviser"}}
    values["grower"] = f"{one.grower.name} <{one.grower.email}>"
    problems = typed.problems
    if typed.several:
        what = f"the file holds {len(typed.several)} fields"
        more = Problem(titled("outline"), what, "send a file with the outline of this one alone")
        problems = (*problems, more)
    return replace(typed, values=values, problems=problems)


def _change_field(
    conn: Connection, desk: Desk, who: Reader, one: FieldRecord, typed: Typed
) -> None:
    now = desk.service.clock.now()
    changed = change_field(conn, one, record_of(typed, who, now), now)
    before, outline = shape_of(conn, one.id), typed.outline
    if outline is not None and outline.rings:
        shape = geometry_of(outline)
        if before is None or before[0] != shape:
            put_shape(conn, one.id, shape, outline.area_ha)
            changed = (*changed, "outline")
    elif before is not None:
        put_shape(conn, one.id, None)
        changed = (*changed, "outline")
    if changed:
        log(conn, who.actor, now, "field.change", one.id, changed=list(changed))


def _change_soil(conn: Connection, desk: Desk, who: Reader, one: FieldRecord, form: Sent) -> None:
    """Enter what was typed; what was entered before and is empty now counts no more."""
    now = desk.service.clock.now()
    hand = standing(soil_values(conn, one.id)).get(HAND, {})
    filled = {name: form.get(name) for name in SOIL if form.get(name)}
    try:
        given = entered_soil([f"{name}={text}" for name, text in filled.items()])
    except RefusedInput as refused:
        raise RefusedInput(
            tuple(replace(it, where=it.where.removeprefix("--set ")) for it in refused.problems)
        ) from None
    news = {name: it for name, it in given.items() if name not in hand or hand[name].value != it}
    gone = [name for name in hand if name not in given]
    if news or gone:
        change_by_hand(conn, one.id, news, gone, now)
        log(conn, who.actor, now, "soil.change", one.id, set=sorted(news), cleared=sorted(gone))


def _page(  # noqa: PLR0913  what the page is shown with
    request: Request,
    desk: Desk,
    conn: Connection,
    who: Reader,
    one: FieldRecord,
    typed: Mapping[str, str] | None = None,
    problems: Sequence[Problem] = (),
    *,
    soil_sent: bool = False,
) -> Response:
    told = complaints(problems)
    hand = standing(soil_values(conn, one.id)).get(HAND, {})
    entered = {
        name: f"{it.value:g}" if isinstance(it.value, float) else str(it.value)
        for name, it in hand.items()
    }
    unit, row, seed = USUAL[who.person.units]
    there = places_of(
        conn, field.c.account_id == who.account_id, field.c.id != one.id, limit=MOST_ON_MAP
    )
    own = Neighbour(one.name, (one.lon, one.lat), ())
    shape = shape_of(conn, one.id)
    return shown(
        request,
        who,
        "enrol_change",
        422 if problems else 200,
        part="today",
        one=one,
        typed=defaultdict(str, _kept(conn, who, one) if soil_sent or typed is None else typed),
        own=defaultdict(str, typed if soil_sent and typed is not None else entered),
        soil_open=soil_sent,
        problems=told,
        faults=beside(told),
        map=place_map(
            [Neighbour(it.name, (it.lon, it.lat), ring_of(it.shape)) for it in there] + [own]
        ),
        crops=CROPS,
        today=today_of(who.person, desk.service.clock.now()),
        unit=unit,
        usual=(row, seed),
        size=size_words(shape[1], who) if shape else "",
        boxes=[(name, *WORDS[name], how, kind) for name, how, kind in SOIL_BOXES],
    )


def _kept(conn: Connection, who: Reader, one: FieldRecord) -> dict[str, str]:
    """The field as it is stored, as its boxes show it."""
    cm = CM_PER_INCH if who.person.units == "us" else 1.0
    shape = shape_of(conn, one.id)
    heat = one.black_layer_gdd_f
    lon, lat = outline_of(shape[0]).middle if shape else (one.lon, one.lat)
    return {
        "name": one.name,
        "lat": f"{lat:.6f}",
        "lon": f"{lon:.6f}",
        "crop": one.crop,
        "planted": one.planted.isoformat(),
        "row_spacing": f"{one.row_spacing_cm / cm:.5g}",
        "seed_depth": f"{one.seed_depth_cm / cm:.4g}",
        "black_layer_gdd_f": "" if heat is None else f"{heat:g}",
        "irrigated": "yes" if one.irrigated else "",
        "outline": "" if shape is None else json.dumps(shape[0]),
        "area": "" if shape is None else str(shape[1]),
    }
