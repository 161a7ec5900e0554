"""Who calls: a token in the header, its scopes, and how often it may."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from rootbound_service.store.api_tokens import USED_EVERY, caller_of, token_used
from rootbound_service.web.access.reader import NotYours, Reader
from rootbound_service.web.api.problems import Stop
from rootbound_service.web.parts import desk_of

if TYPE_CHECKING:
    from datetime import datetime

    from rootbound_service.web.parts import Desk

bearer = HTTPBearer(auto_error=False, description="A token made on the page Tokens, as rb_...")
MOST_A_MINUTE = 600
NO_TOKEN = "Send a token that holds: Authorization: Bearer rb_..."  # noqa: S105  a sentence
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
    headers = {"WWW-Authenticate": "Bearer"}
    if proof is None:
        raise Stop(401, NO_TOKEN, headers)
    with desk.reading() as conn:
        caller = caller_of(conn, proof.credentials, now)
    if caller is None:
        raise Stop(401, NO_TOKEN, headers | {"WWW-Authenticate": 'Bearer error="invalid_token"'})
    if not desk.calls.allows(str(caller.token_id)):
        raise Stop(429, f"At most {MOST_A_MINUTE} calls a minute.", {"Retry-After": "60"})
    _seen(desk, caller.token_id, caller.used_at, now)
    reader = Reader(caller.person, caller.account_id, caller.account_name, caller.role, way="api")
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
            raise NotYours(f"This token has no scope {scope}.")
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


def _seen(desk: Desk, token_id: int, before: datetime | None, now: datetime) -> None:
    """Write down that a token is used, now and then."""
    if before is None or now - before > USED_EVERY:
        with desk.writing() as conn:
            token_used(conn, token_id, now)
