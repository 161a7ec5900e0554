"""The dig card: filled in on a phone beside the hole, and what it means at once."""

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
from rootbound_service.notes.en.particulars import PAN_WORDS, WALL_WORDS
from rootbound_service.notes.speech import say
from rootbound_service.notes.views import field_view
from rootbound_service.store.audits import log
from rootbound_service.store.fields import add_dig
from rootbound_service.store.photos import NewPhoto, photo_bytes, put_photo
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import NotThere, Reader, Recorder, Signed
from rootbound_service.web.draw.wall import pan_svg, wall_svg
from rootbound_service.web.pages.dig_form import PLANTS, card_values, plants_of, told
from rootbound_service.web.pages.dig_meaning import meaning_of
from rootbound_service.web.pages.frame import day_at, own_field, shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.web.parts import Desk

WALLS = ("crumbles: no wall to see", "firm: holds its shape", "smeared: smooth", "hard and shiny")
PANS = ("none", "firm", "hard", "very hard or platy")
PICTURE = {
    "Cache-Control": "private, max-age=86400",
    "Content-Security-Policy": "default-src 'none'; sandbox",
}

routes = APIRouter()


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
            told_ = [f"{one.where}: {one.what}; {one.wanted}." for one in refused.problems]
            return JSONResponse({"problems": told_}, 422)
        return _card(request, desk, who, field_id, form.flat(), refused.problems)
    path = f"/fields/{field_id}/dig/{dig_id}"
    return JSONResponse({"at": path}) if as_json else RedirectResponse(path, 303)


@routes.get("/fields/{field_id}/dig/{dig_id}")
def means(request: Request, desk: Served, who: Signed, field_id: int, dig_id: int) -> Response:
    """Show what a card means."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        one = own_field(conn, who, field_id)
    found = next((dig for dig in one.digs if dig.id == dig_id), None)
    if found is None:
        raise NotThere("dig")
    meaning = meaning_of(desk.service.parts, one, found, day_at(one, now))
    units, after, before = who.person.units, meaning.after, meaning.before
    return shown(
        request,
        who,
        "dig_means",
        part="dig-list",
        one=one,
        dig=found,
        meaning=meaning,
        after=field_view(after, units, 0) if after else None,
        before=field_view(before, units, 0) if before else None,
        plants=say.plants_line(after) if after else "",
        wall_words=WALL_WORDS,
        pan_words=PAN_WORDS,
        wall=wall_svg(found.wall_class),
    )


@routes.get("/photos/{photo_id}")
def picture(desk: Served, who: Signed, photo_id: int, small: int = 0) -> Response:
    """Give a photo to whoever may see its field."""
    with desk.reading() as conn:
        found = photo_bytes(conn, photo_id, small=bool(small))
        if found is None:
            raise NotThere("photo")
        own_field(conn, who, found[0])
    return Response(found[1], media_type="image/jpeg", headers=PICTURE)


def _keep(desk: Desk, who: Reader, field_id: int, form: Sent) -> int:
    """Check and store the card with its photos, all of it or nothing."""
    now, units = desk.service.clock.now(), who.person.units
    plants = plants_of(form)
    photos = [
        (number, clean_photo(upload.data, f"photo {number}"))
        for number, upload in enumerate(form.files.get("photo", ()), 1)
        if upload.data
    ]
    with desk.writing() as conn:
        one = own_field(conn, who, field_id)
        values = card_values(form, plants, units)
        problems: list[Problem] = []
        if "wall_class" not in values:
            wanted = "say for one plant at least how the furrow's wall is"
            problems.append(Problem("wall", "no wall is rated", wanted))
            values["wall_class"] = 0  # the rest is still checked
        try:
            record_ = dig_record(values, planted=one.planted, today=day_at(one, now))
        except RefusedInput as refused:
            raise RefusedInput((*problems, *refused.problems)) from None
        if problems:
            raise RefusedInput(tuple(problems))
        signed = replace(record_, by=who.person.name, recorded_at=now)
        stored = add_dig(conn, one.season_id, signed)
        for number, photo in photos:
            name = f"{record_.form_id}-{number}"
            new = NewPhoto(name, photo.jpeg, photo.small, photo.width, photo.height)
            put_photo(conn, stored.id, new, now)
        if stored.recorded_at == now:
            log(conn, who.actor, now, "dig.add", field_id, dig=stored.id, plants=told(plants))
    return stored.id


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
    return shown(
        request,
        who,
        "dig",
        422 if problems else 200,
        part="dig-list",
        one=one,
        today=day_at(one, now),
        typed=defaultdict(str, typed),
        problems=problems,
        form_id=typed.get("form_id") or str(uuid4()),
        plants=range(1, PLANTS + 1),
        walls=[(number, word, wall_svg(number)) for number, word in enumerate(WALLS)],
        pans=[(number, word, pan_svg(number)) for number, word in enumerate(PANS)],
        unit="in" if units == "us" else "cm",
        cautions=DIG_CAUTIONS,
    )
