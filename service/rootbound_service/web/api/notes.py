"""Notes over the API, with everything they rest on; seen, and silenced."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query, Request, Response
from sqlalchemy import Connection

from rootbound_service.records import Acknowledgement, Silence
from rootbound_service.store.acknowledgements import acknowledge
from rootbound_service.store.audits import log
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.silences import put_silence
from rootbound_service.web.api.access import Observes, Reads
from rootbound_service.web.api.base import Id
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.paging import Paged, link_next, paged
from rootbound_service.web.api.problems import SENDING, responses
from rootbound_service.web.api.record_shapes import (
    NoteOut,
    NotePage,
    NoteWhole,
    SeenOut,
    SilenceIn,
    SilenceOut,
)
from rootbound_service.web.pages.archive import own_note
from rootbound_service.web.pages.frame import own_field, today_of
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.records import NoteRecord

routes = APIRouter(tags=["notes"])


@routes.get("/fields/{field_id}/notes", responses=responses(404))
def notes(
    request: Request,
    out: Response,
    desk: Served,
    caller: Reads,
    field_id: Id,
    asked: Annotated[Paged, Query()],
) -> NotePage:
    """List the notes of the season, the latest first."""
    with desk.reading() as conn:
        one = own_field(conn, caller.reader, field_id)
        found = [note for note, _ in notes_listed(conn, season_ids=[one.season_id])]
    some, onward = paged(found, asked, lambda it: it.id, falling=True)
    link_next(request, out, onward)
    told = [NoteOut.model_validate(_values(it, field_id)) for it in some]
    return NotePage(notes=told, next=onward)


@routes.get("/notes/{note_id}", responses=responses(404))
def note(desk: Served, caller: Reads, note_id: Id) -> NoteWhole:
    """Give a note with everything that it can be computed again from."""
    with desk.reading() as conn:
        found, one = own_note(conn, caller.reader, note_id)
    return NoteWhole.model_validate(_values(found, one.id) | {"evidence": found.evidence})


@routes.post(
    "/notes/{note_id}/seen",
    status_code=201,
    response_model=SeenOut,
    responses=responses(404, *SENDING),
)
def seen(desk: Served, caller: Observes, note_id: Id, key: Key = None) -> Response:
    """Say that what a note tells was seen: nobody is reminded of it then."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> SeenOut:
        found, one = own_note(conn, who, note_id)
        acknowledge(conn, [Acknowledgement(who.person.id, found.season_id, now, "api")])
        log(conn, who.actor, now, "note.seen", one.id)
        return SeenOut(note_id=note_id, field_id=one.id, at=now)

    return once(desk, caller, key, (f"POST /notes/{note_id}/seen", None), act)


@routes.post(
    "/fields/{field_id}/silence",
    status_code=201,
    response_model=SilenceOut,
    responses=responses(404, *SENDING),
)
def silence(
    desk: Served, caller: Observes, field_id: Id, sent: SilenceIn, key: Key = None
) -> Response:
    """Send the token's owner nothing on a field for some days; nobody else's notes change."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> SilenceOut:
        own_field(conn, who, field_id)
        until = today_of(who.person, now) + timedelta(days=sent.days - 1)
        put_silence(conn, Silence(who.person.id, field_id, until, now, "api"))
        log(conn, who.actor, now, "field.silence", field_id, until=until.isoformat())
        return SilenceOut(field_id=field_id, until=until)

    return once(desk, caller, key, (f"POST /fields/{field_id}/silence", sent.days), act)


def _values(note: NoteRecord, field_id: int) -> dict[str, object]:
    names = [name for name in NoteOut.model_fields if name != "field_id"]
    values: dict[str, object] = {name: getattr(note, name) for name in names}
    return values | {"field_id": field_id}
