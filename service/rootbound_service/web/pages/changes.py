"""Who changed what in the account, in words, the latest first."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from sqlalchemy import select

from rootbound_service.store.audits import MOST_LISTED, entries
from rootbound_service.store.schema import person
from rootbound_service.web.access.reader import Adviser
from rootbound_service.web.guard import MOST_NUMBER
from rootbound_service.web.pages.frame import shown
from rootbound_service.web.pages.when import moment
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy import Connection

    from rootbound_service.store.audits import Entry

DONE = {
    "field.enrol": "enrolled a field",
    "field.import": "imported {fields} fields",
    "field.change": "changed a field",
    "field.silence": "silenced a field for themselves",
    "person.silence": "silenced a field for {person}",
    "dig.add": "recorded a dig",
    "photo.add": "added a photo",
    "observation.add": "recorded an observation",
    "observation.withdraw": "took an observation back",
    "note.seen": "saw how a field stands",
    "member.invite": "invited somebody as {role}",
    "member.uninvite": "took an invitation back",
    "member.join": "came in as {role}",
    "member.role": "made {person} {role}",
    "member.out": "took {person} out of the account",
    "second.name": "named {person} second contact",
    "second.end": "ended {person} as second contact",
    "way.add": "added a way to reach {person}",
    "way.change": "changed what {person} hears",
    "way.stop": "stopped messages to {person}, as they asked",
    "way.start": "started messages to {person} again, as they asked",
    "person.change": "changed how they read",
    "session.end": "signed out another browser of theirs",
    "token.make": "made the token {name}",
    "token.end": "ended a token",
    "feed.make": "made a feed address",
    "feed.end": "ended their feed addresses",
}
"""What is read of each name in the log; a name without words stands as it is."""
WAYS = {"api": "through a token", "command": "on the command line", "link": "by a link"}
SOMEBODY = {"role": "somebody", "person": "somebody", "name": "of no name", "fields": "some"}

routes = APIRouter()


@routes.get("/changes")
def changes(
    request: Request,
    desk: Served,
    who: Adviser,
    before: Annotated[int | None, Query(ge=1, le=MOST_NUMBER)] = None,
) -> Response:
    """List them."""
    with desk.reading() as conn:
        listed = entries(conn, who.account_id, before)
        names = _names(conn, listed)
    return shown(
        request,
        who,
        "changes",
        part="people",
        listed=[(one, words_of(one, names)) for one in listed],
        ways=WAYS,
        onward=listed[-1].id if len(listed) == MOST_LISTED else None,
        latest=before is None,
        clock=partial(moment, who.person),
    )


def words_of(one: Entry, names: Mapping[int, str]) -> str:
    """Say what was done.

    Parameters
    ----------
    one
        A line of the log.
    names
        Of people by number.
    """
    what = (
        "member.out" if one.what == "member.role" and one.detail.get("role") == "out" else one.what
    )
    told = {name: str(value) for name, value in one.detail.items()}
    whom = one.detail.get("person")
    told["person"] = names.get(whom, "somebody") if isinstance(whom, int) else "somebody"
    return DONE.get(what, what).format_map(SOMEBODY | told)


def _names(conn: Connection, listed: Sequence[Entry]) -> dict[int, str]:
    """Names of the people that were changed."""
    asked = {one.detail.get("person") for one in listed}
    numbers = [one for one in asked if isinstance(one, int)]
    query = select(person.c.id, person.c.name).where(person.c.id.in_(numbers))
    return {row.id: row.name for row in conn.execute(query)}
