"""Who calls: a token in the header, its scopes, and how often it may."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from rootbound_service.store.accounts import is_operator
from rootbound_service.store.api_tokens import USED_EVERY, caller_of, token_used
from rootbound_service.web.access.reader import NotYours, Reader
from rootbound_service.web.api.problems import Stop
from rootbound_service.web.api.rate import MOST
from rootbound_service.web.parts import desk_of

if TYPE_CHECKING:
    from datetime import datetime

    from rootbound_service.web.parts import Desk

bearer = HTTPBearer(
    auto_error=False,
    scheme_name="token",
    bearerFormat="rb_...",
    description="A token made on the page Tokens. It is shown there once and can be ended there.",
)
NO_TOKEN = "Send a token that holds: Authorization: Bearer rb_..."  # noqa: S105  a sentence
TOO_OFTEN = f"A token makes at most {MOST} calls a minute."
ADVISE = {"enrol", "people"}
"""Scopes that only an adviser's token can use."""


@dataclass(frozen=True, slots=True)
class Called:
    """A program that calls."""

    reader: Reader
    token_id: int
    scopes: frozenset[str]


def called(
    request: Request,
    proof: Annotated[HTTPAuthorizationCredentials | None, Security(bearer)],
) -> Called:
    """Find who calls; cookies count for nothing here, so no other site can use one."""
    desk = desk_of(request)
    now = desk.service.clock.now()
    if proof is None:
        raise Stop(401, NO_TOKEN, {"WWW-Authenticate": "Bearer"})
    with desk.reading() as conn:
        caller = caller_of(conn, proof.credentials, now)
        runs = caller is not None and is_operator(conn, caller.person.id)
    if caller is None:
        raise Stop(401, NO_TOKEN, {"WWW-Authenticate": 'Bearer error="invalid_token"'})
    if not desk.calls.allows(str(caller.token_id)):
        raise Stop(429, TOO_OFTEN, {"Retry-After": "60"})
    _seen(desk, caller.token_id, caller.used_at, now)
    reader = Reader(
        caller.person, caller.account_id, caller.account_name, caller.role, runs, way="api"
    )
    return Called(reader, caller.token_id, caller.scopes)


def may(scope: str) -> Callable[[Called], Called]:
    """Make the check that a token has a scope and its owner the role for it.

    Parameters
    ----------
    scope
        One of ``store.api_tokens.SCOPES``.
    """

    def check(caller: Annotated[Called, Depends(called)]) -> Called:
        if scope not in caller.scopes:
            raise NotYours(f"This token has no scope {scope}. Make one that has.")
        if scope in ADVISE and not caller.reader.enrols:
            raise NotYours("Only an adviser's token does this.")
        if scope != "read" and not caller.reader.records:
            raise NotYours("A viewer's token only reads.")
        return caller

    return check


Reads = Annotated[Called, Depends(may("read"))]
Digs = Annotated[Called, Depends(may("dig"))]
Observes = Annotated[Called, Depends(may("observe"))]
Enrols = Annotated[Called, Depends(may("enrol"))]
Invites = Annotated[Called, Depends(may("people"))]


def advises(caller: Reads) -> Called:
    """See to it that the token is an adviser's: what it sees is not for everybody."""
    if not caller.reader.enrols:
        raise NotYours("Only an adviser's token sees this.")
    return caller


def operates(caller: Reads) -> Called:
    """See to it that the token is of somebody who runs the service."""
    if not caller.reader.operator:
        raise NotYours("Only a token of whoever runs the service sees this.")
    return caller


Advises = Annotated[Called, Depends(advises)]
Operates = Annotated[Called, Depends(operates)]


def _seen(desk: Desk, token_id: int, before: datetime | None, now: datetime) -> None:
    """Write down that a token is used, now and then."""
    if before is None or now - before > USED_EVERY:
        with desk.writing() as conn:
            token_used(conn, token_id, now)
