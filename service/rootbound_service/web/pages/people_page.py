"""The page of one person of the account, as an adviser sees it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from sqlalchemy import select

from rootbound_service.store.contacts import consents_of, contacts_of
from rootbound_service.store.schema import contact, field_person
from rootbound_service.store.schema import field as fields
from rootbound_service.store.silences import MOST_DAYS, silenced_fields
from rootbound_service.store.suppressions import suppressed
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.pages.people_may import (
    OWN_AFFAIR,
    WORDS,
    is_managed,
    is_shared,
    member,
    their_fields,
)
from rootbound_service.web.pages.people_wrong import by_input
from rootbound_service.web.pages.ways_form import CHANNELS, DAYS, rungs, way_words
from rootbound_service.web.pages.when import full_day, local_input, moment

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from fastapi import Request
    from fastapi.responses import Response
    from sqlalchemy import Connection

    from rootbound_service.errors import Problem
    from rootbound_service.records import Person
    from rootbound_service.web.access.reader import Reader
    from rootbound_service.web.parts import Desk

CONSENT_WAYS = ("on paper", "by word of mouth", "by phone", "by e-mail", "by text")
SAID = {
    "added": "Added. A new number gets a first text that says who writes and how to stop.",
    "changed": "Changed. It counts from the next message on.",
    "silence": "Noted.",
}


@dataclass(frozen=True, slots=True)
class Again:
    """A form that is shown again, with what is wrong in it and what was typed."""

    prefix: str
    problems: tuple[Problem, ...]
    typed: Mapping[str, str] = field(default_factory=dict[str, str])
    fields: tuple[str, ...] = ()


def person_page(
    request: Request,
    desk: Desk,
    conn: Connection,
    who: Reader,
    person_id: int,
    *,
    said: str = "",
    again: Again | None = None,
) -> Response:
    """Render it.

    Parameters
    ----------
    request, desk, conn
        The request, the service, a connection.
    who
        The reader, an adviser.
    person_id
        Whom it shows.
    said
        What was just done.
    again
        A form to show again.
    """
    now = desk.service.clock.now()
    one, role = member(conn, who, person_id)
    theirs, may = their_fields(conn, who, one.id), is_managed(conn, one, role)
    return shown(
        request,
        who,
        "person",
        422 if again else 200,
        part="people",
        one=one,
        role=role,
        may=may,
        ways=_ways(conn, one, theirs) if may else [],
        theirs=theirs,
        said=SAID.get(said, ""),
        own_affair=OWN_AFFAIR,
        roles=WORDS,
        clock=partial(moment, who.person),
        day=partial(full_day, who.person),
        wrong={again.prefix: by_input(again.problems)} if again else {},
        typed=defaultdict(str, again.typed if again else {}),
        ticked=again.fields if again else (),
        now_local=local_input(who.person, now),
        consent_ways=CONSENT_WAYS,
        channels=CHANNELS,
        week=DAYS,
        rungs=rungs(),
        longest=MOST_DAYS,
        **_around(conn, who, one, now),
    )


def _ways(conn: Connection, one: Person, names: Mapping[int, str]) -> list[dict[str, object]]:
    """Each way with what is wanted by it, what is stopped, and the proof."""
    return [
        {
            "way": way,
            "words": way_words(way, names),
            "stopped": sorted(suppressed(conn, way.channel, way.address)),
            "shared": is_shared(conn, way),
            "proof": consents_of(conn, way.id),
        }
        for way in contacts_of(conn, contact.c.person_id == one.id)
    ]


def _around(conn: Connection, who: Reader, one: Person, now: datetime) -> dict[str, object]:
    """Silences, second contacts, and the fields to choose among for both."""
    query = select(fields.c.id, fields.c.name, fields.c.grower_id).where(*who.own())
    every = conn.execute(query.order_by(fields.c.name)).all()
    names = {row.id: row.name for row in every}
    second = set(
        conn.scalars(select(field_person.c.field_id).where(field_person.c.person_id == one.id))
    )
    silent = silenced_fields(conn, one.id, today_of(one, now))
    return {
        "grows": sum(row.grower_id == one.id for row in every),
        "silent": [(at, names[at], until) for at, until in silent.items() if at in names],
        "second": [(at, names[at]) for at in names if at in second],
        "others": [(row.id, row.name) for row in every if row.grower_id != one.id],
    }
