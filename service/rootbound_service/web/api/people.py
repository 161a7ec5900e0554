"""The people of an account over the API: who is in it, as what, and who is invited."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query, Request, Response
from pydantic_core import PydanticCustomError
from sqlalchemy import Connection

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.store.accounts import drop_member, members_of, put_member
from rootbound_service.store.audits import log
from rootbound_service.store.invitations import (
    Guest,
    Invitation,
    invitation_of,
    invite,
    open_invitations,
    withdraw_invitation,
)
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.web_sessions import leave_account
from rootbound_service.web.access.letters import invitation_letter
from rootbound_service.web.access.reader import NotThere
from rootbound_service.web.api.access import Advises, Invites
from rootbound_service.web.api.account_shapes import (
    InvitationIn,
    InvitationOut,
    InvitationPage,
    PeoplePage,
    PersonOut,
    RoleIn,
    RoleOut,
    WithdrawnOut,
)
from rootbound_service.web.api.base import Id
from rootbound_service.web.api.once import Key, once
from rootbound_service.web.api.paging import Paged, link_next, paged
from rootbound_service.web.api.problems import SENDING, responses
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from rootbound_service.web.access.reader import Reader

LAST = "an account keeps one adviser at least"
routes = APIRouter(tags=["people"])


@routes.get("/people", responses=responses())
def people(
    request: Request, out: Response, desk: Served, caller: Advises, asked: Annotated[Paged, Query()]
) -> PeoplePage:
    """List the members; only an adviser's token sees them."""
    with desk.reading() as conn:
        found = members_of(conn, caller.reader.account_id)
    some, onward = paged(found, asked, lambda it: it[0].id)
    link_next(request, out, onward)
    told = [PersonOut(id=one.id, name=one.name, email=one.email, role=may) for one, may in some]
    return PeoplePage(people=told, next=onward)


@routes.post(
    "/people/{person_id}/role",
    status_code=201,
    response_model=RoleOut,
    responses=responses(404, *SENDING),
)
def role(desk: Served, caller: Invites, person_id: Id, sent: RoleIn, key: Key = None) -> Response:
    """Change what somebody may do, or take them out of the account."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> RoleOut:
        members = {person.id: may for person, may in members_of(conn, who.account_id)}
        if person_id not in members:
            raise NotThere("person")
        advisers = [one for one, may in members.items() if may == "adviser"]
        if advisers == [person_id] and sent.role != "adviser":
            wanted = "make somebody else an adviser first"
            raise RefusedInput((Problem("role", LAST, wanted),))
        if sent.role == "out":
            drop_member(conn, who.account_id, person_id)
            leave_account(conn, person_id, who.account_id)
        else:
            put_member(conn, who.account_id, person_id, sent.role)
        log(conn, who.actor, now, "member.role", person=person_id, role=sent.role)
        return RoleOut(person_id=person_id, role=sent.role)

    return once(desk, caller, key, (f"POST /people/{person_id}/role", sent.role), act)


@routes.get("/invitations", responses=responses())
def invitations(
    request: Request, out: Response, desk: Served, caller: Advises, asked: Annotated[Paged, Query()]
) -> InvitationPage:
    """List the invitations that hold; only an adviser's token sees them."""
    now = desk.service.clock.now()
    with desk.reading() as conn:
        found = open_invitations(conn, caller.reader.account_id, now)
    some, onward = paged(found, asked, lambda it: it.id)
    link_next(request, out, onward)
    return InvitationPage(invitations=[_invitation(one) for one in some], next=onward)


@routes.post(
    "/invitations", status_code=201, response_model=InvitationOut, responses=responses(*SENDING)
)
def invited(desk: Served, caller: Invites, sent: InvitationIn, key: Key = None) -> Response:
    """Invite somebody by mail; a newer invitation takes the place of an older."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> InvitationOut:
        guest = _guest(sent)
        number = invite(conn, who.account_id, who.person.id, guest, now)
        letter = invitation_letter(guest, number, who.person.name, who.account_name, now)
        enqueue(conn, [letter])
        log(conn, who.actor, now, "member.invite", role=guest.role, invitation=number)
        return _invitation(_made(conn, who, number, desk))

    return once(desk, caller, key, ("POST /invitations", sent.model_dump(mode="json")), act)


@routes.post(
    "/invitations/{invitation_id}/withdraw",
    status_code=201,
    response_model=WithdrawnOut,
    responses=responses(404, *SENDING),
)
def withdraw(desk: Served, caller: Invites, invitation_id: Id, key: Key = None) -> Response:
    """Take an invitation back: its link lets nobody in any more."""
    who, now = caller.reader, desk.service.clock.now()

    def act(conn: Connection) -> WithdrawnOut:
        if not withdraw_invitation(conn, who.account_id, invitation_id, now):
            raise NotThere("invitation")
        log(conn, who.actor, now, "member.uninvite", invitation=invitation_id)
        return WithdrawnOut(id=invitation_id)

    return once(desk, caller, key, (f"POST /invitations/{invitation_id}/withdraw", None), act)


def _guest(sent: InvitationIn) -> Guest:
    try:
        name, email = read_person(f"{sent.name} <{sent.email}>")
    except PydanticCustomError as error:
        what, _, wanted = error.message().partition("; ")
        raise RefusedInput((Problem("name and email", what, wanted),)) from None
    return Guest(name, email, sent.role)


def _made(conn: Connection, who: Reader, number: int, desk: Served) -> Invitation:
    found = invitation_of(conn, number, desk.service.clock.now())
    if found is None or found.account_id != who.account_id:
        raise NotThere("invitation")
    return found


def _invitation(one: Invitation) -> InvitationOut:
    return InvitationOut(
        id=one.id,
        name=one.name,
        email=one.email,
        role=one.role,
        made_at=one.made_at,
        ends_at=one.ends_at,
    )
