"""Who looks at a page: found by their cookie, in one account, with one role."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request

from rootbound_service.records import AccessRole, Person
from rootbound_service.store.audits import Actor
from rootbound_service.store.schema import field
from rootbound_service.store.standings import Wanted
from rootbound_service.store.web_sessions import SEEN_EVERY, see_session, session_of
from rootbound_service.web.parts import desk_of

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement

SECURE_COOKIE, PLAIN_COOKIE = "__Host-rootbound", "rootbound"
"""The first is bound to this host and to TLS; the second serves http on loopback."""


class SignInNeeded(Exception):
    """Nobody is signed in; ``back`` is where they wanted to go."""

    def __init__(self, back: str) -> None:
        super().__init__(back)
        self.back = back


class NotYours(Exception):
    """Signed in, and not allowed to; ``why`` says who is."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class NotThere(Exception):
    """Nothing of that name among what the reader may see: another account's is not there either."""


@dataclass(frozen=True, slots=True)
class Reader:
    """Somebody signed in, in an account, or a program that calls for them."""

    person: Person
    account_id: int
    account_name: str
    role: AccessRole
    operator: bool = False
    session_id: int | None = None
    way: str = "page"

    @property
    def enrols(self) -> bool:
        """Whether they may enrol, change and invite."""
        return self.role == "adviser"

    @property
    def records(self) -> bool:
        """Whether they may record digs and what they saw."""
        return self.role in {"adviser", "grower"}

    @property
    def grower_id(self) -> int | None:
        """Of the only fields they see; None: all of the account."""
        return self.person.id if self.role == "grower" else None

    @property
    def actor(self) -> Actor:
        """As the log names them."""
        return Actor(self.account_id, self.person.id, "api" if self.way == "api" else "page")

    def wanted(self) -> Wanted:
        """Every field they may see."""
        return Wanted(self.account_id, self.grower_id)

    def own(self) -> tuple[ColumnElement[bool], ...]:
        """The same as conditions on the field table."""
        here = (field.c.account_id == self.account_id,)
        return here if self.grower_id is None else (*here, field.c.grower_id == self.grower_id)


@dataclass(frozen=True, slots=True)
class Keeper:
    """An operator, in an account or in none."""

    person: Person
    session_id: int
    reader: Reader | None


def cookie_name(base_url: str | None) -> str:
    """Name of the cookie: the strict one wherever the public address has TLS."""
    return SECURE_COOKIE if (base_url or "").startswith("https://") else PLAIN_COOKIE


def whoever(request: Request) -> Keeper | Reader | None:
    """Find who is signed in, if anybody."""
    kept = getattr(request.state, "who", None)
    if kept is not None:
        return kept  # type: ignore[no-any-return]  # the request's own bag
    desk = desk_of(request)
    key = request.cookies.get(cookie_name(desk.service.settings.base_url), "")
    if not key:
        return None
    now = desk.service.clock.now()
    with desk.reading() as conn:
        found = session_of(conn, key, now)
    if found is None:
        return None
    if now - found.seen_at > SEEN_EVERY:
        with desk.writing() as conn:
            see_session(conn, found.id, now)
    who: Keeper | Reader | None = None
    if found.account_id is not None and found.role is not None:
        who = Reader(
            found.person,
            found.account_id,
            found.account_name,
            found.role,
            found.operator,
            found.id,
        )
    elif found.operator:
        who = Keeper(found.person, found.id, None)
    request.state.who = who
    return who


def reader(request: Request) -> Reader:
    """Whoever is signed in to an account."""
    who = whoever(request)
    if isinstance(who, Keeper):
        raise NotYours("You run the service and are in no account, so there are no fields to see.")
    if who is None:
        raise SignInNeeded(_back(request))
    return who


def recorder(request: Request) -> Reader:
    """Whoever may record digs and observations."""
    who = reader(request)
    if not who.records:
        raise NotYours("You look on in this account. Its advisers and growers record.")
    return who


def adviser(request: Request) -> Reader:
    """Whoever may enrol, change and invite."""
    who = reader(request)
    if not who.enrols:
        raise NotYours("Only advisers of this account do this. Ask one of them.")
    return who


def keeper(request: Request) -> Keeper:
    """Whoever runs the service."""
    who = whoever(request)
    if who is None:
        raise SignInNeeded(_back(request))
    if isinstance(who, Keeper):
        return who
    if not who.operator or who.session_id is None:
        raise NotYours("These pages are for whoever runs the service.")
    return Keeper(who.person, who.session_id, who)


Signed = Annotated[Reader, Depends(reader)]
Recorder = Annotated[Reader, Depends(recorder)]
Adviser = Annotated[Reader, Depends(adviser)]
Operator = Annotated[Keeper, Depends(keeper)]


def _back(request: Request) -> str:
    """Where to go after signing in; only pages are gone back to."""
    if request.method != "GET":
        return "/today"
    query = request.url.query
    return request.url.path + (f"?{query}" if query else "")
