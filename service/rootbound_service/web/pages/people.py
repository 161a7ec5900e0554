"""The people of an account: who is in it, as what, and who is invited."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from pydantic_core import PydanticCustomError
from sqlalchemy import func, select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.store.accounts import drop_member, members_of, put_member
from rootbound_service.store.audits import log
from rootbound_service.store.invitations import (
    Guest,
    invite,
    open_invitations,
    withdraw_invitation,
)
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.schema import account, field
from rootbound_service.store.web_sessions import leave_account
from rootbound_service.web.access.forms import Form, Sent
from rootbound_service.web.access.letters import invitation_letter
from rootbound_service.web.access.reader import Adviser, NotThere, Reader
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.pages.people_may import ROLES, WORDS
from rootbound_service.web.pages.people_wrong import by_input
from rootbound_service.web.pages.when import full_day
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.web.parts import Desk

LAST = Problem(
    "role", "an account keeps one adviser at least", "make somebody else an adviser first"
)
MOST_INVITED = 50
"""Invitations open at once: each is a letter to somebody who has asked for none."""

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
        with desk.writing() as conn:
            _may_be_invited(conn, who, guest, now)
            number = invite(conn, who.account_id, who.person.id, guest, now)
            letter = invitation_letter(guest, number, who.person.name, who.account_name, now)
            enqueue(conn, [letter])
            log(conn, who.actor, now, "member.invite", role=guest.role, invitation=number)
    except RefusedInput as refused:
        return _page(request, desk, who, problems=refused.problems, typed=form.flat())
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
        # two advisers who take each other out at once would leave none
        conn.execute(select(account.c.id).where(account.c.id == who.account_id).with_for_update())
        members = {person.id: may for person, may in members_of(conn, who.account_id)}
        if person_id not in members:
            raise NotThere("person")
        advisers = [one for one, may in members.items() if may == "adviser"]
        last = advisers == [person_id] and wanted != "adviser"
        if not last:
            _change(conn, who, person_id, wanted)
            log(conn, who.actor, now, "member.role", person=person_id, role=wanted)
    if last:
        return _page(request, desk, who, problems=(LAST,))
    return RedirectResponse(f"/people?said={'out' if wanted == 'out' else 'changed'}", 303)


def _change(conn: Connection, who: Reader, person_id: int, wanted: str) -> None:
    if wanted == "out":
        drop_member(conn, who.account_id, person_id)
        leave_account(conn, person_id, who.account_id)
    else:
        put_member(conn, who.account_id, person_id, ROLES[wanted])


def _guest(form: Sent) -> Guest:
    """Who is to be invited."""
    problems: list[Problem] = []
    if form.get("role") not in ROLES:
        problems.append(Problem("role", "is missing", "choose what they may do"))
    name, email = form.get("name"), form.get("email")
    if not name or {*"<>"} & {*name}:
        problems.append(Problem("name", "is no name", "give a name, without < and >"))
    for about, given in (("name", f"{name} <a@example.org>"), ("email", f"Guest <{email}>")):
        try:
            read = read_person(given)
        except PydanticCustomError as error:
            what, _, _ = error.message().partition("; ")
            wanted = "give it as ann@example.org" if about == "email" else "give their name"
            problems.append(Problem(about, what, wanted))
        else:
            name, email = (read[0], email) if about == "name" else (name, read[1])
    if problems:
        raise RefusedInput(tuple(problems))
    return Guest(name, email, ROLES[form.get("role")])


def _may_be_invited(conn: Connection, who: Reader, guest: Guest, now: datetime) -> None:
    """Refuse whoever is in the account already, and too many at once."""
    inside = {one.email.casefold() for one, _ in members_of(conn, who.account_id)}
    if guest.email.casefold() in inside:
        what, wanted = f"{guest.email} is in the account already", "change what they may do instead"
        raise RefusedInput((Problem("email", what, wanted),))
    others = [
        one
        for one in open_invitations(conn, who.account_id, now)
        if one.email.casefold() != guest.email.casefold()
    ]
    if len(others) >= MOST_INVITED:
        what = f"{len(others)} invitations are open"
        raise RefusedInput((Problem("email", what, "take some back first"),))


SAID = {
    "invited": "Invited: a letter with a link is on its way. It holds for two weeks.",
    "withdrawn": "The invitation no longer holds.",
    "changed": "Changed.",
    "out": "They see nothing of this account any more.",
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
        grown = (
            select(field.c.grower_id, func.count().label("many"))
            .where(field.c.account_id == who.account_id)
            .group_by(field.c.grower_id)
        )
        grows = {row.grower_id: row.many for row in conn.execute(grown)}
    return shown(
        request,
        who,
        "people",
        422 if problems else 200,
        part="people",
        members=members,
        grows=grows,
        invited=invited,
        roles=WORDS,
        said=SAID.get(said, ""),
        wrong=by_input(problems),
        typed=defaultdict(str, typed or {}),
        day=partial(full_day, who.person),
    )
