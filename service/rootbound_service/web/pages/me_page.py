"""One's own page as it is shown: how one reads, what one hears, where one is signed in."""

from __future__ import annotations

from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING

from sqlalchemy import select

from rootbound_service.notes.speech import languages
from rootbound_service.store.accounts import memberships
from rootbound_service.store.contacts import consents_of, contacts_of
from rootbound_service.store.schema import contact, feed_key, field
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.suppressions import suppressed
from rootbound_service.store.web_sessions import open_sessions
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.pages.me_agents import browser_words
from rootbound_service.web.pages.people_may import is_shared
from rootbound_service.web.pages.people_wrong import by_input
from rootbound_service.web.pages.time_zones import zones
from rootbound_service.web.pages.ways_form import CHANNELS, DAYS, rungs, way_words
from rootbound_service.web.pages.when import full_day, moment

if TYPE_CHECKING:
    from datetime import datetime

    from fastapi import Request
    from fastapi.responses import Response
    from sqlalchemy import Connection

    from rootbound_service.web.access.reader import Reader
    from rootbound_service.web.pages.people_page import Again
    from rootbound_service.web.parts import Desk

AGREED = (
    "Text this number when one of my fields climbs to the rung I chose or a worse one: at most 2 "
    "texts a week unless a field is failing. Message and data rates may apply. I can answer STOP "
    "at any time."
)
"""What one agrees to on this page; it is kept with the consent, so a new wording is a new text."""


def me_page(
    request: Request,
    desk: Desk,
    who: Reader,
    *,
    said: str = "",
    made: str = "",
    again: Again | None = None,
) -> Response:
    """Render one's own page.

    Parameters
    ----------
    request, desk, who
        The request, the service, the reader.
    said
        What was just done.
    made
        A new address of feeds, shown this once.
    again
        A form to show again.
    """
    now = desk.service.clock.now()
    with desk.reading() as conn:
        told = _hears(desk, conn, who) | _silent(conn, who, now) | _elsewhere(conn, who, now)
    return shown(
        request,
        who,
        "me",
        422 if again else 200,
        part="me",
        said=said,
        made=made,
        wrong={again.prefix: by_input(again.problems)} if again else {},
        typed=defaultdict(str, again.typed if again else {}),
        zones=zones(),
        languages=languages(),
        agreed_words=AGREED,
        channels=CHANNELS,
        week=DAYS,
        rungs=rungs(),
        clock=partial(moment, who.person),
        day=partial(full_day, who.person),
        **told,
    )


def _hears(desk: Desk, conn: Connection, who: Reader) -> dict[str, object]:
    """Each own way, with what is wanted by it and its proof."""
    ways = contacts_of(conn, contact.c.person_id == who.person.id)
    named = [one for way in ways for one in way.field_ids]
    query = select(field.c.id, field.c.name).where(field.c.id.in_(named))
    names = {row.id: row.name for row in conn.execute(query)}
    return {
        "ways": [
            {
                "way": way,
                "words": way_words(way, names),
                "stopped": sorted(suppressed(conn, way.channel, way.address)),
                "proof": consents_of(conn, way.id),
                "stop": "" if is_shared(conn, way) else desk.links.token("stop", way.id, 0),
            }
            for way in ways
        ]
    }


def _silent(conn: Connection, who: Reader, now: datetime) -> dict[str, object]:
    silent = silenced_fields(conn, who.person.id, today_of(who.person, now))
    query = select(field.c.id, field.c.name).where(field.c.id.in_(list(silent)), *who.own())
    names = {row.id: row.name for row in conn.execute(query)}
    return {"silent": [(one, names[one], until) for one, until in silent.items() if one in names]}


def _elsewhere(conn: Connection, who: Reader, now: datetime) -> dict[str, object]:
    """Other accounts, other browsers, and the address that programs read."""
    mine = (feed_key.c.person_id == who.person.id) & feed_key.c.ended_at.is_(None)
    since = conn.scalar(
        select(feed_key.c.made_at).where(mine).order_by(feed_key.c.id.desc()).limit(1)
    )
    return {
        "accounts": memberships(conn, who.person.id),
        "sessions": [
            (one, browser_words(one.agent)) for one in open_sessions(conn, who.person.id, now)
        ],
        "feed_since": since,
    }
