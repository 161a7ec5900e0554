"""Digs and their photos over the API."""

from __future__ import annotations

from dataclasses import asdict, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, File, Query, Request, Response, UploadFile
from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy import Connection

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.digs import dig_record
from rootbound_service.intake.photos import clean_photo
from rootbound_service.store.audits import log
from rootbound_service.store.fields import add_dig
from rootbound_service.store.photos import MOST, NewPhoto, photo_bytes, photos_of_season, put_photo
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Digs, Reads
from rootbound_service.web.api.base import Id
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.paging import Paged, link_next, paged
from rootbound_service.web.api.problems import SENDING, responses
from rootbound_service.web.api.record_shapes import (
    DigIn,
    DigOut,
    DigPage,
    MeaningOut,
    PhotoOut,
    PhotoPage,
)
from rootbound_service.web.api.told import standing_out
from rootbound_service.web.pages.dig_meaning import meaning_of
from rootbound_service.web.pages.frame import day_at, own_field
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.records import DigRecord

routes = APIRouter(tags=["digs"])
JPEG = {
    "description": "The photo",
    "content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}},
}
PICTURE = {
    "Cache-Control": "private, max-age=86400",
    "Content-Security-Policy": "default-src 'none'; sandbox",
}


class Size(BaseModel):
    """Which picture of a photo."""

    model_config = ConfigDict(extra="forbid")

    small: bool = Field(default=False, description="The small one for lists")


@routes.get("/fields/{field_id}/digs", responses=responses(404))
def digs(
    request: Request,
    out: Response,
    desk: Served,
    caller: Reads,
    field_id: Id,
    asked: Annotated[Paged, Query()],
) -> DigPage:
    """List the digs of the season."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
    some, onward = paged(one.digs, asked, lambda card: card.id)
    link_next(request, out, onward)
    return DigPage(digs=[dig_out(card) for card in some], next=onward)


@routes.post(
    "/fields/{field_id}/digs",
    status_code=201,
    response_model=DigOut,
    responses=responses(404, *SENDING),
)
def dig(desk: Served, caller: Digs, field_id: Id, sent: DigIn, key: Key = None) -> Response:
    """Keep a dig card; it counts from the next night on.

    Before anybody digs: have buried lines located (in the US call 811), mind heat and machinery,
    and keep to the re-entry times on pesticide labels.
    """
    who, now = caller.reader, desk.service.clock.now()
    told = sent.model_dump(mode="json")

    def act(conn: Connection) -> DigOut:
        one = own_field(conn, who, field_id)
        values = {name: value for name, value in sent.model_dump().items() if value is not None}
        card = dig_record(values, planted=one.planted, today=day_at(one, now))
        signed = replace(card, by=who.person.name, recorded_at=now)
        stored = add_dig(conn, one.season_id, signed)
        log(conn, who.actor, now, "dig.add", field_id, dig=stored.id)
        return dig_out(stored)

    return once(desk, caller, key, (f"POST /fields/{field_id}/digs", told), act)


@routes.get("/fields/{field_id}/digs/{dig_id}/meaning", responses=responses(404))
def meaning(desk: Served, caller: Reads, field_id: Id, dig_id: Id) -> MeaningOut:
    """Say what a dig means: the field as of today with the digs before it, and with it."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
    card = next((it for it in one.digs if it.id == dig_id), None)
    if card is None:
        raise NotThere("dig")
    found = meaning_of(desk.service.parts, one, card, day_at(one, now))
    before, after = found.before, found.after
    return MeaningOut(
        before=standing_out(before.as_read, before.as_read.night) if before else None,
        after=standing_out(after.as_read, after.as_read.night) if after else None,
        why_not=found.why_not,
    )


@routes.get("/fields/{field_id}/photos", responses=responses(404))
def photos(
    request: Request,
    out: Response,
    desk: Served,
    caller: Reads,
    field_id: Id,
    asked: Annotated[Paged, Query()],
) -> PhotoPage:
    """List the photos of the season's digs."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
        found = photos_of_season(conn, one.season_id)
    some, onward = paged(found, asked, lambda it: it.id)
    link_next(request, out, onward)
    told = [_photo_out(it.id, it.dig_id, it.width, it.height) for it in some]
    return PhotoPage(photos=told, next=onward)


@routes.post(
    "/fields/{field_id}/digs/{dig_id}/photos",
    status_code=201,
    response_model=PhotoOut,
    responses=responses(404, *SENDING),
)
def photo(
    desk: Served,
    caller: Digs,
    field_id: Id,
    dig_id: Id,
    file: Annotated[UploadFile, File(description="A JPEG, PNG or WebP of at most 12 MB")],
    key: Key = None,
) -> Response:
    """Add a photo: drawn anew, without place or camera; the same one twice is kept once."""
    who, now = caller.reader, desk.service.clock.now()
    with desk.reading() as conn:
        _own_dig(conn, caller, field_id, dig_id)  # before a picture is worked on for nothing
    data = file.file.read()
    name, clean = sha256(data).hexdigest()[:32], clean_photo(data)

    def act(conn: Connection) -> PhotoOut:
        _own_dig(conn, caller, field_id, dig_id)
        new = NewPhoto(name, clean.jpeg, clean.small, clean.width, clean.height)
        number = put_photo(conn, dig_id, new, now)
        if number is None:
            what = f"this dig has {MOST} photos, as many as it may"
            raise RefusedInput((Problem("file", what, "leave it out"),))
        log(conn, who.actor, now, "photo.add", field_id, dig=dig_id)
        return _photo_out(number, dig_id, clean.width, clean.height)

    path = f"POST /fields/{field_id}/digs/{dig_id}/photos"
    return once(desk, caller, key, (path, name), act)


@routes.get("/photos/{photo_id}", response_class=Response, responses=responses(404) | {200: JPEG})
def picture(desk: Served, caller: Reads, photo_id: Id, asked: Annotated[Size, Query()]) -> Response:
    """Give a photo as JPEG."""
    with desk.reading() as conn:
        found = photo_bytes(conn, photo_id, small=asked.small)
        if found is None:
            raise NotThere("photo")
        try:
            own_field(conn, caller.reader, found[0])
        except NotThere:
            raise NotThere("photo") from None
    return Response(found[1], media_type="image/jpeg", headers=PICTURE)


def dig_out(card: DigRecord) -> DigOut:
    """Give a dig card."""
    values: dict[str, Any] = asdict(card) | {"date": card.dug_on}
    return DigOut(**{name: values[name] for name in DigOut.model_fields})


def _photo_out(number: int, dig_id: int, width: int, height: int) -> PhotoOut:
    path = f"/api/v1/photos/{number}"
    return PhotoOut(id=number, dig_id=dig_id, width_px=width, height_px=height, path=path)


def _own_dig(conn: Connection, caller: Digs, field_id: int, dig_id: int) -> None:
    one = own_field(conn, caller.reader, field_id)
    if dig_id not in {card.id for card in one.digs}:
        raise NotThere("dig")
