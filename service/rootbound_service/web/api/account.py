"""The account over the API: counts, where to dig, people, log, letters."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic_core import PydanticCustomError

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.people import read_person
from rootbound_service.notes.en.dig_words import again_text, first_text
from rootbound_service.store.accounts import members_of
from rootbound_service.store.audits import MOST_LISTED, entries, log
from rootbound_service.store.digests import digests_of
from rootbound_service.store.invitations import Guest, invite
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.standings import counted
from rootbound_service.web.access.letters import invitation_letter
from rootbound_service.web.access.reader import NotYours
from rootbound_service.web.api.access import Called, Invites, Reads
from rootbound_service.web.api.account_shapes import (
    ChangeOut,
    ChangesOut,
    CountsOut,
    DigestOut,
    DigestsOut,
    DigListEntry,
    DigListOut,
    DoneOut,
    InvitationIn,
    PeopleOut,
    PersonOut,
)
from rootbound_service.web.api.problems import responses
from rootbound_service.web.api.shapes import MOST_ID
from rootbound_service.web.pages.dig_list import listed
from rootbound_service.web.pages.frame import today_of
from rootbound_service.web.parts import Served

routes = APIRouter(tags=["account"])


@routes.get("/today", responses=responses())
def today(desk: Served, caller: Reads) -> CountsOut:
    """Count the fields by how they stand."""
    with desk.reading() as conn:
        counts = counted(conn, caller.reader.wanted())
    rungs = {name: counts.get(("watched", rung), 0) for rung, name in enumerate(RUNG_NAMES)}
    statuses: dict[str, int] = {}
    for (status, _), many in counts.items():
        statuses[status] = statuses.get(status, 0) + many
    return CountsOut(fields=sum(counts.values()), by_rung=rungs, by_status=statuses)


@routes.get("/dig-list", responses=responses())
def dig_list(desk: Served, caller: Reads) -> DigListOut:
    """Say where to dig first and where again."""
    who = caller.reader
    found = listed(desk, who, today_of(who.person, desk.service.clock.now()))
    units = who.person.units
    return DigListOut(
        first=[
            DigListEntry(field_id=one.id, name=one.name, grower=one.grower.name, why=why)
            for dig in found.digs.first
            for one in (found.fields[dig.field_id],)
            for why in (first_text(dig, one.crop, units),)
        ],
        again=[
            DigListEntry(field_id=one.id, name=one.name, grower=one.grower.name, why=why)
            for dig in found.digs.again
            for one in (found.fields[dig.field_id],)
            for why in (again_text(dig, units),)
        ],
    )


@routes.get("/people", responses=responses())
def people(desk: Served, caller: Reads) -> PeopleOut:
    """List the members; only an adviser's token sees them."""
    _advisers_only(caller)
    with desk.reading() as conn:
        members = members_of(conn, caller.reader.account_id)
    return PeopleOut(
        people=[PersonOut(id=one.id, name=one.name, email=one.email, role=r) for one, r in members]
    )


@routes.post("/invitations", status_code=201, responses=responses())
def invitation(desk: Served, caller: Invites, sent: InvitationIn) -> DoneOut:
    """Invite somebody by mail; a newer invitation takes the place of an older."""
    who, now = caller.reader, desk.service.clock.now()
    try:
        name, email = read_person(f"{sent.name} <{sent.email}>")
    except PydanticCustomError as error:
        what, _, wanted = error.message().partition("; ")
        raise RefusedInput((Problem("name and email", what, wanted),)) from None
    guest = Guest(name, email, sent.role)
    with desk.writing() as conn:
        number = invite(conn, who.account_id, who.person.id, guest, now)
        letter = invitation_letter(guest, number, who.person.name, who.account_name, now)
        enqueue(conn, [letter])
        log(conn, who.actor, now, "member.invite", role=guest.role, invitation=number)
    return DoneOut()


@routes.get("/changes", responses=responses())
def changes(
    desk: Served, caller: Reads, before: Annotated[int | None, Query(ge=1, le=MOST_ID)] = None
) -> ChangesOut:
    """List who changed what, the latest first; only an adviser's token sees it."""
    _advisers_only(caller)
    with desk.reading() as conn:
        found = entries(conn, caller.reader.account_id, before)
    return ChangesOut(
        changes=[
            ChangeOut(
                id=one.id, at=one.at, who=one.who, way=one.way, what=one.what, field_id=one.field_id
            )
            for one in found
        ],
        next=found[-1].id if len(found) == MOST_LISTED else None,
    )


@routes.get("/digests", responses=responses())
def digests(desk: Served, caller: Reads) -> DigestsOut:
    """List the weekly letters to the token's owner."""
    with desk.reading() as conn:
        found = digests_of(conn, caller.reader.person.id)
    return DigestsOut(
        digests=[
            DigestOut(
                id=one.id,
                week=one.week,
                night=one.night,
                page=f"/d/{desk.links.token('digest', one.id)}",
            )
            for one in found
        ]
    )


def _advisers_only(caller: Called) -> None:
    if not caller.reader.enrols:
        raise NotYours("Only an adviser's token sees this.")
