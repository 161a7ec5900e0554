"""The dig card: filled in on a phone beside the hole, and kept once however often it is sent."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.digs import dig_record
from rootbound_service.intake.photos import clean_photo
from rootbound_service.notes.en.dig_words import DIG_CAUTIONS
from rootbound_service.notes.en.particulars import WALL_WORDS
from rootbound_service.store.audits import log
from rootbound_service.store.fields import add_dig
from rootbound_service.store.photos import MOST, NewPhoto, photo_bytes, put_photo
from rootbound_service.web.access.forms import Form, Sent, form_token
from rootbound_service.web.access.reader import NotThere, Reader, Recorder, Signed
from rootbound_service.web.draw.wall import pan_svg, wall_svg
from rootbound_service.web.pages.dig_form import (
    PLANTS,
    card_values,
    name_of,
    plants_of,
    spot_of,
    told,
)
from rootbound_service.web.pages.frame import day_at, own_field, shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.records import DigRecord, FieldRecord
    from rootbound_service.web.parts import Desk

WALLS = ("crumbles: no wall to see", "firm: holds its shape", "smeared: smooth", "hard and shiny")
PANS = ("none", "firm", "hard", "very hard or platy")
PICTURE = {
    "Cache-Control": "private, max-age=86400",
    "Content-Security-Policy": "default-src 'none'; sandbox",
}

routes = APIRouter()


@routes.get("/dig/ready")
def ready(request: Request, who: Signed) -> Response:
    """Say who is signed in, and the proof that cards waiting on a phone are sent with."""
    return JSONResponse(
        {"person": who.person.id, "name": who.person.name, "token": form_token(request, who)}
    )


@routes.get("/fields/{field_id}/dig")
def card(request: Request, desk: Served, who: Recorder, field_id: int) -> Response:
    """Show the empty card, cautions first."""
    return _card(request, desk, who, field_id, {}, ())


@routes.post("/fields/{field_id}/dig")
def record(request: Request, desk: Served, who: Recorder, field_id: int, form: Form) -> Response:
    """Keep a card; the same card sent twice is one."""
    as_json = "application/json" in request.headers.get("accept", "")
    try:
        dig_id = _keep(desk, who, field_id, form)
    except RefusedInput as refused:
        if as_json:
            return JSONResponse({"problems": [_told(one) for one in refused.problems]}, 422)
        return _card(request, desk, who, field_id, form.flat(), refused.problems)
    path = f"/fields/{field_id}/dig/{dig_id}"
    return JSONResponse({"at": path}) if as_json else RedirectResponse(path, 303)


@routes.get("/photos/{photo_id}")
def picture(desk: Served, who: Signed, photo_id: int, small: int = 0) -> Response:
    """Give a photo to whoever may see its field."""
    with desk.reading() as conn:
        found = photo_bytes(conn, photo_id, small=bool(small))
        if found is None:
            raise NotThere("photo")
        own_field(conn, who, found[0])
    return Response(found[1], media_type="image/jpeg", headers=PICTURE)


def _told(one: Problem) -> dict[str, str]:
    text = f"{one.where}: {one.what}; {one.wanted}."
    return {"text": text, "spot": spot_of(one)}


def _keep(desk: Desk, who: Reader, field_id: int, form: Sent) -> int:
    """Check and store the card with its photos, all of it or nothing."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        one = own_field(conn, who, field_id)
    form_id = form.get("form_id")
    sent_before = [dig.id for dig in one.digs if form_id and dig.form_id == form_id]
    if sent_before:
        return sent_before[0]
    plants, problems = plants_of(form, who.person.units)
    values, wrong = card_values(form, plants, who.person.units)
    card_, wrong_too = _checked(values, one, desk)
    photos, wrong_photos = _photos(form)
    # of one place the first counts: it speaks in the digger's own units
    found = {one.where: one for one in (*wrong_photos, *wrong_too, *wrong, *problems)}
    if found or card_ is None:
        raise RefusedInput(tuple(reversed(found.values())))
    signed = replace(card_, by=who.person.name, recorded_at=now)
    with desk.writing() as conn:
        stored = add_dig(conn, one.season_id, signed)
        for new in photos:
            put_photo(conn, stored.id, new, now)
        log(conn, who.actor, now, "dig.add", field_id, dig=stored.id, plants=told(plants))
    return stored.id


def _checked(
    values: dict[str, object], one: FieldRecord, desk: Desk
) -> tuple[DigRecord | None, tuple[Problem, ...]]:
    today = day_at(one, desk.service.clock.now())
    try:
        return dig_record(values, planted=one.planted, today=today, label=name_of), ()
    except RefusedInput as refused:
        return None, refused.problems


def _photos(form: Sent) -> tuple[list[NewPhoto], tuple[Problem, ...]]:
    """Draw each photo anew; what is no photo is named, and hides no other."""
    sent = [upload for upload in form.files.get("photo", ()) if upload.data]
    if len(sent) > MOST:
        what, wanted = f"{len(sent)} are too many", f"send at most {MOST} with a card"
        return [], (Problem("photos", what, wanted),)
    found: list[NewPhoto] = []
    problems: list[Problem] = []
    for number, upload in enumerate(sent, 1):
        try:
            one = clean_photo(upload.data, f"photo {number}")
        except RefusedInput as refused:
            problems += refused.problems
            continue
        found.append(NewPhoto(f"photo-{number}", one.jpeg, one.small, one.width, one.height))
    return found, tuple(problems)


def _card(
    request: Request,
    desk: Desk,
    who: Reader,
    field_id: int,
    typed: dict[str, str],
    problems: tuple[Problem, ...],
) -> Response:
    now = desk.service.clock.now()
    with desk.reading() as conn:
        one = own_field(conn, who, field_id)
    units = who.person.units
    spots = defaultdict[str, list[Problem]](list)
    for problem in problems:
        spots[spot_of(problem)].append(problem)
    return shown(
        request,
        who,
        "dig",
        422 if problems else 200,
        part="dig-list",
        one=one,
        today=day_at(one, now),
        typed=defaultdict(str, typed),
        problems=[(problem, spot_of(problem)) for problem in problems],
        spots=spots,
        form_id=typed.get("form_id") or str(uuid4()),
        plants=range(1, PLANTS + 1),
        walls=[(number, word, wall_svg(number)) for number, word in enumerate(WALLS)],
        wall_words="|".join(WALL_WORDS),
        pans=[(number, word, pan_svg(number)) for number, word in enumerate(PANS)],
        unit="in" if units == "us" else "cm",
        most_photos=MOST,
        cautions=DIG_CAUTIONS,
    )
