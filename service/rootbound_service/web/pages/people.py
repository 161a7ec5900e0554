"""The people of an account: who is in it, as what, and who is invited."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.records import AccessRole
from rootbound_service.store.accounts import drop_member, members_of, put_member
from rootbound_service.store.audits import log
from rootbound_service.store.invitations import (
    Guest,
    invite,
    open_invitations,
    withdraw_invitation,
)
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.web_sessions import leave_account
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.letters import invitation_letter
from rootbound_service.web.access.reader import Adviser, NotThere, Reader
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.web.parts import Desk

ROLES: dict[str, AccessRole] = {"adviser": "adviser", "grower": "grower", "viewer": "viewer"}
WORDS = {
    "adviser": "sees all fields, enrols, digs, invites",
    "grower": "sees their own fields, records digs and rain",
    "viewer": "sees all fields, changes nothing",
}
LAST = "An account keeps one adviser at least: make somebody else an adviser first."

routes = APIRouter()


@routes.get("/people")
def people(request: Request, desk: Served, who: Adviser, said: str = "") -> Response:
    """List them."""
    return _page(request, desk, who, said=said)


@routes.post("/people/invite")
def send(request: Request, desk: Served, who: Adviser, form: Form) -> Response:
    """Invite somebody by mail."""
    now = desk.service.clock.now()
    try:
        guest = _guest(form)
    except RefusedInput as refused:
        return _page(request, desk, who, problems=refused.problems, typed=form.flat())
    with desk.writing() as conn:
        number = invite(conn, who.account_id, who.person.id, guest, now)
        letter = invitation_letter(guest, number, who.person.name, who.account_name, now)
        enqueue(conn, [letter])
        log(conn, who.actor, now, "member.invite", role=guest.role, invitation=number)
    return RedirectResponse("/people?said=invited", 303)


@routes.post("/people/invitations/{number}/withdraw")
def withdraw(desk: Served, who: Adviser, number: int, form: Form) -> Response:
    """Take an invitation back."""
    del form  # read to see that it comes from our own page
    now = desk.service.clock.now()
    with desk.writing() as conn:
        if not withdraw_invitation(conn, who.account_id, number, now):
            raise NotThere("invitation")
        log(conn, who.actor, now, "member.uninvite", invitation=number)
    return RedirectResponse("/people?said=withdrawn", 303)


@routes.post("/people/{person_id}/role")
def role(request: Request, desk: Served, who: Adviser, person_id: int, form: Form) -> Response:
    """Change what somebody may do, or take them out of the account."""
    now, wanted = desk.service.clock.now(), form.get("role")
    if wanted not in {*ROLES, "out"}:
        raise NotThere("role")
    with desk.writing() as conn:
        members = {person.id: may for person, may in members_of(conn, who.account_id)}
        if person_id not in members:
            raise NotThere("person")
        advisers = [one for one, may in members.items() if may == "adviser"]
        last = advisers == [person_id] and wanted != "adviser"
        if not last:
            _change(conn, who, person_id, wanted)
            log(conn, who.actor, now, "member.role", person=person_id, role=wanted)
    if last:
        problem = Problem("role", LAST.partition(":")[0], "make somebody else an adviser first")
        return _page(request, desk, who, problems=(problem,))
    return RedirectResponse("/people?said=changed", 303)


def _change(conn: Connection, who: Reader, person_id: int, wanted: str) -> None:
    if wanted == "out":
        drop_member(conn, who.account_id, person_id)
        leave_account(conn, person_id, who.account_id)
    else:
        put_member(conn, who.account_id, person_id, ROLES[wanted])


def _guest(form: Sent) -> Guest:
    """Who is to be invited."""
    if form.get("role") not in ROLES:
        raise RefusedInput((Problem("role", "is missing", "choose what they may do"),))
    try:
        name, email = read_person(f"{form.get('name')} <{form.get('email')}>")
    except PydanticCustomError as error:
        what, _, wanted = error.message().partition("; ")
        raise RefusedInput((Problem("name and e-mail", what, wanted),)) from None
    return Guest(name, email, ROLES[form.get("role")])


SAID = {
    "invited": "Invited: a letter with a link is on its way. It holds for two weeks.",
    "withdrawn": "The invitation no longer holds.",
    "changed": "Changed.",
}


def _page(
    request: Request,
    desk: Desk,
    who: Reader,
    *,
    said: str = "",
    problems: tuple[Problem, ...] = (),
    typed: Mapping[str, str] | None = None,
) -> Response:
    now = desk.service.clock.now()
    with desk.reading() as conn:
        members = members_of(conn, who.account_id)
        invited = open_invitations(conn, who.account_id, now)
    return shown(
        request,
        who,
        "people",
        422 if problems else 200,
        part="people",
        members=members,
        invited=invited,
        roles=WORDS,
        said=SAID.get(said, ""),
        problems=problems,
        typed=defaultdict(str, typed or {}),
    )
