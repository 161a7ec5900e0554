"""Digs, photos, observations and notes over the API."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from hashlib import sha256
from typing import Annotated, Any

from fastapi import APIRouter, File, Response, UploadFile

from rootbound_service.intake.digs import dig_record
from rootbound_service.intake.observations import observation_records, withdrawal
from rootbound_service.intake.observations_keep import keep_typed
from rootbound_service.intake.photos import clean_photo
from rootbound_service.records import Acknowledgement, Silence
from rootbound_service.store.acknowledgements import acknowledge
from rootbound_service.store.audits import log
from rootbound_service.store.fields import add_dig
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.observations import add_observation, every_observation
from rootbound_service.store.photos import NewPhoto, put_photo
from rootbound_service.store.silences import put_silence
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Digs, Observes, Reads
from rootbound_service.web.api.account_shapes import DoneOut
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.problems import Stop, responses
from rootbound_service.web.api.shapes import (
    DigIn,
    DigOut,
    DigsOut,
    Id,
    NoteOut,
    NotesOut,
    ObservationIn,
    ObservationsOut,
    SilenceIn,
)
from rootbound_service.web.api.told import dig_out, note_out, observation_out
from rootbound_service.web.pages.archive import own_note
from rootbound_service.web.pages.frame import day_at, own_field, today_of
from rootbound_service.web.parts import Served

routes = APIRouter(tags=["records"])


@routes.get("/fields/{field_id}/digs", responses=responses(404))
def digs(desk: Served, caller: Reads, field_id: Id) -> DigsOut:
    """List the digs of the season, the oldest first."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
    return DigsOut(digs=[dig_out(card) for card in one.digs])


@routes.post(
    "/fields/{field_id}/digs",
    status_code=201,
    response_model=DigOut,
    responses=responses(404, 409),
)
def dig(desk: Served, caller: Digs, field_id: Id, sent: DigIn, key: Key = None) -> Response:
    """Keep a dig card; it counts from the next night on."""
    who, now = caller.reader, desk.service.clock.now()
    told = sent.model_dump(mode="json")

    def act() -> DigOut:
        with desk.writing() as conn:
            one = own_field(conn, who, field_id)
            values = {name: value for name, value in sent.model_dump().items() if value is not None}
            if not values["pan_class"]:
                values.pop("pan_depth_cm", None)
            card = dig_record(values, planted=one.planted, today=day_at(one, now))
            signed = replace(card, by=who.person.name, recorded_at=now)
            stored = add_dig(conn, one.season_id, signed)
            log(conn, who.actor, now, "dig.add", field_id, dig=stored.id)
        return dig_out(stored)

    return once(desk, caller, key, (f"POST /fields/{field_id}/digs", told), act)


@routes.post("/fields/{field_id}/digs/{dig_id}/photos", status_code=201, responses=responses(404))
def photo(
    desk: Served, caller: Digs, field_id: Id, dig_id: Id, file: Annotated[UploadFile, File()]
) -> DoneOut:
    """Add a photo: made anew, without place or camera; the same one twice is kept once."""
    who, now = caller.reader, desk.service.clock.now()
    data = file.file.read()
    clean = clean_photo(data)
    with desk.writing() as conn:
        one = own_field(conn, who, field_id)
        if dig_id not in {card.id for card in one.digs}:
            raise NotThere("dig")
        name = sha256(data).hexdigest()[:32]
        new = NewPhoto(name, clean.jpeg, clean.small, clean.width, clean.height)
        if put_photo(conn, dig_id, new, now) is None:
            raise Stop(422, "This dig has as many photos as it may.")
        log(conn, who.actor, now, "photo.add", field_id, dig=dig_id)
    return DoneOut()


@routes.get("/fields/{field_id}/observations", responses=responses(404))
def observations(desk: Served, caller: Reads, field_id: Id) -> ObservationsOut:
    """List everything recorded this season, withdrawn ones among it."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
        found = every_observation(conn, one.season_id)
    return ObservationsOut(observations=[observation_out(it) for it in found])


@routes.post(
    "/fields/{field_id}/observations",
    status_code=201,
    response_model=ObservationsOut,
    responses=responses(404, 409),
)
def observe(
    desk: Served, caller: Observes, field_id: Id, sent: ObservationIn, key: Key = None
) -> Response:
    """Record what somebody measured, saw or did."""
    who, now = caller.reader, desk.service.clock.now()
    told = sent.model_dump(mode="json")

    def act() -> ObservationsOut:
        with desk.writing() as conn:
            one = own_field(conn, who, field_id)
            records = observation_records(_values(sent, who.person.name), one, now)
            stored = keep_typed(conn, one.season_id, records)
            log(conn, who.actor, now, "observation.add", field_id)
        return ObservationsOut(observations=[observation_out(it) for it in stored])

    return once(desk, caller, key, (f"POST /fields/{field_id}/observations", told), act)


@routes.post(
    "/fields/{field_id}/observations/{number}/withdraw",
    status_code=201,
    responses=responses(404),
)
def withdraw(desk: Served, caller: Observes, field_id: Id, number: Id) -> ObservationsOut:
    """Take an observation back; it stays in the list."""
    who, now = caller.reader, desk.service.clock.now()
    with desk.writing() as conn:
        one = own_field(conn, who, field_id)
        row = withdrawal({"withdraw": str(number), "by": who.person.name}, one, now)
        stored = add_observation(conn, one.season_id, row)
        log(conn, who.actor, now, "observation.withdraw", field_id, id=number)
    return ObservationsOut(observations=[observation_out(stored)])


@routes.get("/fields/{field_id}/notes", responses=responses(404))
def notes(desk: Served, caller: Reads, field_id: Id) -> NotesOut:
    """List the notes of the season, the latest first."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
        found = notes_listed(conn, season_ids=[one.season_id])
    return NotesOut(notes=[note_out(note, field_id) for note, _ in found])


@routes.get("/notes/{note_id}", responses=responses(404))
def note(desk: Served, caller: Reads, note_id: Id) -> NoteOut:
    """Give a note with everything it rests on."""
    with desk.reading() as conn:
        found, one = own_note(conn, caller.reader, note_id)
    return note_out(found, one.id, evidence=True)


@routes.post("/notes/{note_id}/seen", status_code=201, responses=responses(404))
def seen(desk: Served, caller: Observes, note_id: Id) -> DoneOut:
    """Say that what a note tells was seen."""
    who, now = caller.reader, desk.service.clock.now()
    with desk.writing() as conn:
        found, one = own_note(conn, who, note_id)
        acknowledge(conn, [Acknowledgement(who.person.id, found.season_id, now, "api")])
        log(conn, who.actor, now, "note.seen", one.id)
    return DoneOut()


@routes.post("/fields/{field_id}/silence", status_code=201, responses=responses(404))
def silence(desk: Served, caller: Observes, field_id: Id, sent: SilenceIn) -> DoneOut:
    """Send the token's owner nothing on a field for some days; 0 ends it."""
    who, now = caller.reader, desk.service.clock.now()
    with desk.writing() as conn:
        own_field(conn, who, field_id)
        until = today_of(who.person, now) + timedelta(days=sent.days - 1)
        put_silence(conn, Silence(who.person.id, field_id, until, now, "api"))
        log(conn, who.actor, now, "field.silence", field_id, until=until.isoformat())
    return DoneOut()


def _values(sent: ObservationIn, by: str) -> dict[str, Any]:
    values: dict[str, Any] = {"date": sent.date, "by": by, "note": sent.note}
    for name, mm in (("rain", sent.rain_mm), ("irrigation", sent.irrigation_mm)):
        if mm is not None:
            values[name] = f"{mm} mm"
    if sent.rolled is not None:
        values["rolled"] = "yes" if sent.rolled else "no"
    for name, told in (("harvested", sent.harvested), ("morning", sent.morning)):
        if told:
            values[name] = "yes"
    return {name: value for name, value in values.items() if value != ""}
