"""The account over the API: whose token it is, counts, where to dig, letters, the log."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.notes.en.dig_words import DIG_CAUTIONS, again_text, first_text
from rootbound_service.store.api_tokens import SCOPES
from rootbound_service.store.audits import MOST_LISTED, Entry, entries
from rootbound_service.store.digests import digests_of
from rootbound_service.store.runs import last_run
from rootbound_service.store.standings import counted
from rootbound_service.web.api.access import Advises, Reads
from rootbound_service.web.api.account_shapes import (
    ChangeOut,
    ChangePage,
    CountsOut,
    DigestOut,
    DigestPage,
    DigListEntry,
    DigListOut,
    MeOut,
)
from rootbound_service.web.api.paging import Paged, link_next, paged
from rootbound_service.web.api.problems import responses
from rootbound_service.web.pages.dig_list import listed
from rootbound_service.web.pages.frame import today_of
from rootbound_service.web.parts import Served

routes = APIRouter(tags=["account"])


@routes.get("/me", responses=responses())
def me(caller: Reads) -> MeOut:
    """Say whose token this is and what it may do."""
    who = caller.reader
    return MeOut(
        person_id=who.person.id,
        name=who.person.name,
        units=who.person.units,
        time_zone=who.person.time_zone,
        account=who.account_name,
        role=who.role,
        scopes=[one for one in SCOPES if one in caller.scopes],
    )


@routes.get("/today", responses=responses())
def today(desk: Served, caller: Reads) -> CountsOut:
    """Count the fields by how they stand."""
    with desk.reading() as conn:
        counts = counted(conn, caller.reader.wanted())
        night = last_run(conn, finished_only=True)
    statuses: dict[str, int] = {}
    for (status, _), many in counts.items():
        statuses[status] = statuses.get(status, 0) + many
    return CountsOut(
        fields=sum(counts.values()),
        by_rung={name: counts.get(("watched", rung), 0) for rung, name in enumerate(RUNG_NAMES)},
        by_status=statuses,
        last_night=night.night if night else None,
    )


@routes.get("/dig-list", responses=responses())
def dig_list(desk: Served, caller: Reads) -> DigListOut:
    """Say where to dig first and where again."""
    who = caller.reader
    found = listed(desk, who, today_of(who.person, desk.service.clock.now()))
    units = who.person.units
    first = [
        (one, first_text(dig, one.crop, units))
        for dig in found.digs.first
        for one in (found.fields[dig.field_id],)
    ]
    again = [(found.fields[dig.field_id], again_text(dig, units)) for dig in found.digs.again]
    first_out, again_out = (
        [
            DigListEntry(field_id=one.id, name=one.name, grower=one.grower.name, why=why)
            for one, why in rows
        ]
        for rows in (first, again)
    )
    return DigListOut(first=first_out, again=again_out, cautions=DIG_CAUTIONS)


@routes.get("/digests", responses=responses())
def digests(
    request: Request, out: Response, desk: Served, caller: Reads, asked: Annotated[Paged, Query()]
) -> DigestPage:
    """List the weekly letters to the token's owner, the latest first."""
    with desk.reading() as conn:
        found = digests_of(conn, caller.reader.person.id)
    some, onward = paged(found, asked, lambda it: it.id, falling=True)
    link_next(request, out, onward)
    told = [
        DigestOut(
            id=one.id,
            week=one.week,
            night=one.night,
            page=f"/d/{desk.links.token('digest', one.id)}",
        )
        for one in some
    ]
    return DigestPage(digests=told, next=onward)


@routes.get("/changes", responses=responses())
def changes(
    request: Request,
    out: Response,
    desk: Served,
    caller: Advises,
    asked: Annotated[Paged, Query()],
) -> ChangePage:
    """List who changed what, the latest first; only an adviser's token sees it."""
    with desk.reading() as conn:
        found = entries(conn, caller.reader.account_id, asked.after)
    some = found[: asked.limit]
    more = len(found) > len(some) or len(found) == MOST_LISTED
    onward = some[-1].id if some and more else None
    link_next(request, out, onward)
    return ChangePage(changes=[_change(one) for one in some], next=onward)


def _change(one: Entry) -> ChangeOut:
    return ChangeOut(
        id=one.id, at=one.at, who=one.who, way=one.way, what=one.what, field_id=one.field_id
    )
