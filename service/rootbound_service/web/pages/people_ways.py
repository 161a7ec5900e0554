"""How somebody of the account is reached, and what they want by each way: changed by an adviser."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from rootbound_service.desk.ways import put_way
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import ConsentEvent, Scope
from rootbound_service.store.audits import log
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.schema import contact
from rootbound_service.telling.stopping import start, stop
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.reader import Adviser, Reader
from rootbound_service.web.pages.people_may import (
    MOST_WAYS,
    is_shared,
    managed,
    one_way,
    their_fields,
)
from rootbound_service.web.pages.people_page import CONSENT_WAYS, Again, person_page
from rootbound_service.web.pages.ways_form import chosen_fields, wishes_in
from rootbound_service.web.pages.when import read_local
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Contact, Person

WORDING_LENGTH = 1000
SCOPES: dict[str, Scope] = {"all": "all", "note": "note", "digest": "digest"}
SHARED = Problem(
    "scope",
    "somebody else is reached there as well, and a stop holds for the address",
    "change what this person hears instead",
)
TOO_MANY = Problem("address", "there are enough ways", f"{MOST_WAYS} are kept; change one of them")

routes = APIRouter()


@routes.get("/people/{person_id}")
def person(
    request: Request, desk: Served, who: Adviser, person_id: int, said: str = ""
) -> Response:
    """Show how somebody is reached, with the consent behind it."""
    with desk.reading() as conn:
        return person_page(request, desk, conn, who, person_id, said=said)


@routes.post("/people/{person_id}/ways")
def add(request: Request, desk: Served, who: Adviser, person_id: int, form: Form) -> Response:
    """Add a way to reach somebody; a number needs the words they agreed to, how and when."""
    now = desk.service.clock.now()
    try:
        with desk.writing() as conn:
            one = managed(conn, who, person_id)
            _add(conn, who, one, form, now)
    except RefusedInput as refused:
        again = Again("add-", refused.problems, form.flat(), form.every("field"))
        with desk.reading() as conn:
            return person_page(request, desk, conn, who, person_id, again=again)
    return RedirectResponse(f"/people/{person_id}?said=added", 303)


@routes.post("/people/{person_id}/ways/{contact_id}")
def change(
    request: Request, desk: Served, who: Adviser, person_id: int, contact_id: int, form: Form
) -> Response:
    """Change what somebody wants by a way."""
    now = desk.service.clock.now()
    try:
        with desk.writing() as conn:
            one = managed(conn, who, person_id)
            way = one_way(conn, one, contact_id)
            given = {way.channel: way.address} | wishes_in(form, way.channel)
            fields = chosen_fields(form, their_fields(conn, who, one.id), way.field_ids)
            put_way(conn, one, given, fields, None, now)
            log(conn, who.actor, now, "way.change", person=one.id, way=way.id)
    except RefusedInput as refused:
        again = Again(f"way-{contact_id}-", refused.problems)
        with desk.reading() as conn:
            return person_page(request, desk, conn, who, person_id, again=again)
    return RedirectResponse(f"/people/{person_id}?said=changed", 303)


@routes.post("/people/{person_id}/ways/{contact_id}/stop")
def end(
    request: Request, desk: Served, who: Adviser, person_id: int, contact_id: int, form: Form
) -> Response:
    """Stop what goes by a way, or start it again, as they asked in whatever manner."""
    now = desk.service.clock.now()
    try:
        with desk.writing() as conn:
            one = managed(conn, who, person_id)
            way = one_way(conn, one, contact_id)
            done = _stop_or_start(conn, way, form, now)
            log(conn, who.actor, now, done, person=one.id, way=way.id, scope=form.get("scope"))
    except RefusedInput as refused:
        again = Again(f"stop-{contact_id}-", refused.problems, form.flat())
        with desk.reading() as conn:
            return person_page(request, desk, conn, who, person_id, again=again)
    return RedirectResponse(f"/people/{person_id}?said=changed", 303)


def _stop_or_start(conn: Connection, way: Contact, form: Sent, now: datetime) -> str:
    """Do what was asked for, and give its name in the log."""
    said, asked = form.get("said"), form.get("scope")
    if not said or len(said) > WORDING_LENGTH:
        wanted = f"give their words or what they did, in {WORDING_LENGTH} signs at most"
        raise RefusedInput((Problem("said", "is missing or too long", wanted),))
    if is_shared(conn, way):
        raise RefusedInput((SHARED,))
    if asked in SCOPES:
        stop(conn, way, SCOPES[asked], "page", said, now)
        return "way.stop"
    if asked != "start":
        wanted = "choose what to stop, or start again"
        raise RefusedInput((Problem("scope", "is missing", wanted),))
    if not start(conn, way, "page", said, now):
        wanted = "add the number once more, with consent"
        raise RefusedInput((Problem("scope", "no consent is on record", wanted),))
    return "way.start"


def _add(conn: Connection, who: Reader, one: Person, form: Sent, now: datetime) -> None:
    channel = form.get("channel")
    if channel not in {"email", "text"}:
        raise RefusedInput((Problem("channel", "is missing", "choose e-mail or text"),))
    if not form.get("address"):
        raise RefusedInput((Problem("address", "is missing", "give an address or a number"),))
    if len(contacts_of(conn, contact.c.person_id == one.id)) >= MOST_WAYS:
        raise RefusedInput((TOO_MANY,))
    given = {channel: form.get("address")} | wishes_in(form, channel)
    fields = chosen_fields(form, their_fields(conn, who, one.id), ())
    put = put_way(conn, one, given, fields, read_consent(form, who, now), now)
    log(conn, who.actor, now, "way.add", person=one.id, way=put.way.id)


def read_consent(form: Sent, who: Reader, now: datetime) -> ConsentEvent | None:
    """Read what somebody agreed to, as an adviser writes it down.

    Parameters
    ----------
    form
        With ``wording``, ``consent_how`` and ``consent_at``.
    who
        By whose clock the moment is meant.
    now
        The time, aware.

    Returns
    -------
    ConsentEvent or None
        None where no words are given.

    Raises
    ------
    RefusedInput
        If the words are without way or time, or the time is yet to come.
    """
    wording, how, at = form.get("wording"), form.get("consent_how"), form.get("consent_at")
    if not wording:
        return None
    problems: list[Problem] = []
    if len(wording) > WORDING_LENGTH:
        wanted = f"give {WORDING_LENGTH} signs at most"
        problems.append(Problem("wording", "is too long", wanted))
    if how not in CONSENT_WAYS:
        problems.append(Problem("consent_how", "is missing", "choose how they agreed"))
    moment = read_local(who.person, at)
    if moment is None:
        problems.append(Problem("consent_at", "is no day and time", "give both"))
    elif moment > now:
        problems.append(Problem("consent_at", "is yet to come", "give when they agreed"))
    if problems:
        raise RefusedInput(tuple(problems))
    return ConsentEvent(0, "given", moment, how, wording)
