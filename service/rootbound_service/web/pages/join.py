"""Coming in by an invitation: its page says into what and as what, and one press accepts it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from rootbound_service.records import Person, Role
from rootbound_service.store.accounts import put_member
from rootbound_service.store.audits import Actor, log
from rootbound_service.store.invitations import Invitation, invitation_of, use_invitation
from rootbound_service.store.people import add_person
from rootbound_service.store.web_sessions import begin_session
from rootbound_service.web.access.forms import OpenForm
from rootbound_service.web.access.letters import ROLES
from rootbound_service.web.access.sign_in import signed_in
from rootbound_service.web.parts import Served, page

GONE = (
    "Invitations work once and for two weeks, and can be taken back. Ask whoever invited you for "
    "a new one; if you are in already, sign in with your e-mail address."
)

routes = APIRouter()


@routes.get("/join/{token}")
def ask(desk: Served, token: str) -> Response:
    """Show into what somebody is invited; looking accepts nothing."""
    number, now = desk.number("join", token), desk.service.clock.now()
    with desk.reading() as conn:
        found = None if number is None else invitation_of(conn, number, now)
    if found is None:
        return _gone()
    return page("join", token=token, invitation=found, role=ROLES[found.role])


@routes.post("/join/{token}")
def accept(desk: Served, token: str, form: OpenForm, request: Request) -> Response:
    """Accept it, and be signed in."""
    number, now = desk.number("join", token), desk.service.clock.now()
    agent = request.headers.get("user-agent", "")
    with desk.writing() as conn:
        found = None if number is None else use_invitation(conn, number, now)
        if found is None:
            return _gone()
        person = add_person(conn, _person(found, form.get("time_zone")), now)
        put_member(conn, found.account_id, person.id, found.role)
        key = begin_session(conn, person.id, now, agent, found.account_id)
        log(conn, Actor(found.account_id, person.id, "page"), now, "member.join", role=found.role)
    return signed_in(desk, key, "/today")


def _person(found: Invitation, zone: str) -> Person:
    from zoneinfo import available_timezones

    role: Role = "grower" if found.role == "grower" else "adviser"
    known = zone if zone in available_timezones() else "UTC"
    return Person(found.name, found.email, role, time_zone=known)


def _gone() -> Response:
    way = ("/sign-in", "Sign in")
    return page("said", 410, title="This invitation is used up", lines=(GONE,), way=way)
