"""Requests that may come twice: the header Idempotency-Key makes the second harmless."""

from __future__ import annotations

import json
from collections.abc import Callable
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated

from fastapi import Header, Response
from pydantic import BaseModel
from sqlalchemy import Connection

from rootbound_service.store.kept_answers import (
    RUNNING,
    Claim,
    Kept,
    claim_key,
    free_key,
    keep_answer,
)
from rootbound_service.web.api.problems import Stop

if TYPE_CHECKING:
    from rootbound_service.web.api.access import Called
    from rootbound_service.web.parts import Desk

MIME = "application/json"
REPLAYED = {"Idempotency-Replayed": "true"}
OTHER = "This Idempotency-Key was used for another request. Give every request a key of its own."
BUSY = "The same request is being answered at this moment. Ask again."

Key = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        max_length=200,
        pattern=r"^[\x21-\x7e]+$",
        description=(
            "Names the request: sent again with the same key within 24 hours, it is not done "
            "again but answered as before, with Idempotency-Replayed: true."
        ),
        examples=["card-17"],
    ),
]


def once(
    desk: Desk,
    caller: Called,
    key: str | None,
    asked: tuple[str, object],
    act: Callable[[Connection], BaseModel],
) -> Response:
    """Act, or give the answer that the same request had before.

    Parameters
    ----------
    desk
        The service.
    caller
        Who calls.
    key
        As they name the request; None: it is simply done.
    asked
        The path, and what was sent.
    act
        Does it, in the transaction that also keeps its answer; what it gives goes out as 201.

    Raises
    ------
    Stop
        422 for a key that another request had, 409 while the first is being answered.
    """
    if key is None:
        with desk.writing() as conn:
            told = act(conn)
        return Response(_json(told), 201, media_type=MIME)
    claimed = _claim(desk, caller, key, asked)
    if isinstance(claimed, Kept):
        return Response(claimed.body, claimed.status, REPLAYED, MIME)
    try:
        body = _answered(desk, claimed, act)
    except BaseException:
        with desk.writing() as conn:
            free_key(conn, claimed)
        raise
    return Response(body, 201, media_type=MIME)


def _answered(desk: Desk, claim: Claim, act: Callable[[Connection], BaseModel]) -> bytes:
    """Act and keep the answer, both or neither."""
    with desk.writing() as conn:
        body = _json(act(conn))
        if not keep_answer(conn, claim, 201, body):
            raise Stop(409, BUSY, {"Retry-After": "1"})
    return body


def _claim(desk: Desk, caller: Called, key: str, asked: tuple[str, object]) -> Claim | Kept:
    """Take the request on, or find what was answered."""
    told = json.dumps(asked, sort_keys=True, default=str)
    mark, now = sha256(told.encode()).hexdigest(), desk.service.clock.now()
    with desk.writing() as conn:
        claimed = claim_key(conn, caller.token_id, key, mark, now)
    if isinstance(claimed, Kept):
        if claimed.request_hash != mark:
            raise Stop(422, OTHER)
        if claimed.status == RUNNING:
            raise Stop(409, BUSY, {"Retry-After": "1"})
    return claimed


def _json(told: BaseModel) -> bytes:
    return told.model_dump_json().encode()
