"""Coming in by an invitation: its page says who invites into what, and one press accepts it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlalchemy import select

from rootbound_service.records import Person
from rootbound_service.store.accounts import members_of, put_member
from rootbound_service.store.audits import Actor, log
from rootbound_service.store.invitations import Invitation, invitation_of, use_invitation
from rootbound_service.store.people import COLUMNS, add_person, person_from
from rootbound_service.store.schema import invitation, person
from rootbound_service.store.web_sessions import begin_session
from rootbound_service.web.access.forms import OpenForm, Sent
from rootbound_service.web.access.letters import ROLES
from rootbound_service.web.access.sign_in import signed_in
from rootbound_service.web.pages.time_zones import zones
from rootbound_service.web.parts import Served, page

if TYPE_CHECKING:
    from sqlalchemy import Connection

GONE = (
    "Invitations work once and for two weeks, and can be taken back. Ask whoever invited you for "
    "a new one; if you are in already, sign in with your e-mail address."
)

routes = APIRouter()


@routes.get("/join/{token}")
def ask(desk: Served, token: str) -> Response:
    """Show into what somebody is invited, and by whom; looking accepts nothing."""
    number, now = desk.number("join", token), desk.service.clock.now()
    with desk.reading() as conn:
        found = None if number is None else invitation_of(conn, number, now)
        if found is None:
            return _gone()
        by, known = _inviter(conn, found), _known(conn, found)
    return page(
        "join",
        token=token,
        invitation=found,
        role=ROLES[found.role],
        by=by,
        new=not known,
        zones=zones(),
    )


@routes.post("/join/{token}")
def accept(desk: Served, token: str, form: OpenForm, request: Request) -> Response:
    """Accept it, and be signed in."""
    number, now = desk.number("join", token), desk.service.clock.now()
    agent = request.headers.get("user-agent", "")
    with desk.writing() as conn:
        found = None if number is None else use_invitation(conn, number, now)
        if found is None:
            return _gone()
        one = add_person(conn, _person(found, form, _inviter(conn, found)), now)
        roles = {who.id: may for who, may in members_of(conn, found.account_id)}
        if roles.get(one.id) != "adviser":  # an invitation never takes anything away
            put_member(conn, found.account_id, one.id, found.role)
        key = begin_session(conn, one.id, now, agent, found.account_id)
        log(conn, Actor(found.account_id, one.id, "link"), now, "member.join", role=found.role)
    return signed_in(desk, key, "/today")


def _inviter(conn: Connection, found: Invitation) -> Person:
    """Who invites: the clock and the units of somebody new begin as theirs."""
    query = select(*(person.c[name] for name in COLUMNS)).join(
        invitation, invitation.c.made_by == person.c.id
    )
    row = conn.execute(query.where(invitation.c.id == found.id)).mappings().one()
    return person_from(row)


def _known(conn: Connection, found: Invitation) -> bool:
    """Whether the guest is on record already, and reads as they have chosen."""
    key = found.email.strip().casefold()
    return conn.scalar(select(person.c.id).where(person.c.email_key == key)) is not None


def _person(found: Invitation, form: Sent, by: Person) -> Person:
    zone, units = form.get("time_zone"), form.get("units")
    return Person(
        found.name,
        found.email,
        "grower" if found.role == "grower" else "adviser",
        "metric" if (units or by.units) == "metric" else "us",
        zone if zone in zones() else by.time_zone,
    )


def _gone() -> Response:
    way = ("/sign-in", "Sign in")
    return page("said", 410, title="This invitation is used up", lines=(GONE,), way=way)
