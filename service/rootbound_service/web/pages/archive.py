"""What was: one's weekly digests, and each note with its evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlalchemy import select

from rootbound_service.errors import RefusedInput
from rootbound_service.nights.explain_note import explain
from rootbound_service.store.digests import digests_of
from rootbound_service.store.kept_weather import load
from rootbound_service.store.notes import find_note
from rootbound_service.store.schema import season
from rootbound_service.web.access.reader import NotThere, Signed
from rootbound_service.web.pages.field_view import note_words
from rootbound_service.web.pages.frame import own_field, shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import FieldRecord, NoteRecord
    from rootbound_service.web.access.reader import Reader

routes = APIRouter()


@routes.get("/digests")
def digests(request: Request, desk: Served, who: Signed) -> Response:
    """List one's own weekly letters."""
    with desk.reading() as conn:
        found = digests_of(conn, who.person.id)
    listed = [(one, desk.links.token("digest", one.id)) for one in found]
    return shown(request, who, "digests", part="digests", listed=listed)


@routes.get("/notes/{note_id}")
def note(request: Request, desk: Served, who: Signed, note_id: int) -> Response:
    """Show a note computed again from its evidence, step by step."""
    with desk.reading() as conn:
        found, one = own_note(conn, who, note_id)
        fingerprint = _past(found)
        packed = load(conn, fingerprint) if fingerprint else None
    why = ""
    try:
        explained = explain(found, packed)
    except RefusedInput as refused:
        explained, why = None, "; ".join(problem.what for problem in refused.problems)
    return shown(
        request,
        who,
        "note_why",
        part="today",
        note=found,
        one=one,
        words=note_words(found),
        explained=explained,
        why=why,
    )


def own_note(conn: Connection, who: Reader, note_id: int) -> tuple[NoteRecord, FieldRecord]:
    """Give a note on a field that the reader may see, and the field.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    who
        The reader.
    note_id
        The note.

    Raises
    ------
    NotThere
        If there is none, or it is another account's.
    """
    try:
        found = find_note(conn, note_id)
    except RefusedInput:
        raise NotThere("note") from None
    field_id = conn.scalar(select(season.c.field_id).where(season.c.id == found.season_id))
    return found, own_field(conn, who, field_id or 0, on=found.night)


def _past(found: NoteRecord) -> str:
    """Fingerprint of the past years that a note's evidence names."""
    return str(found.evidence.get("past_fingerprint") or "")
