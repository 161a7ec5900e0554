"""Requests that may come twice: the header Idempotency-Key makes the second harmless."""

from __future__ import annotations

import json
from collections.abc import Callable
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated

from fastapi import Header, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel

from rootbound_service.store.kept_answers import RUNNING, claim_key, free_key, keep_answer
from rootbound_service.web.api.problems import Stop

if TYPE_CHECKING:
    from rootbound_service.web.api.access import Called
    from rootbound_service.web.parts import Desk

Key = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        max_length=200,
        pattern=r"^[\x21-\x7e]+$",
        description="Names the request: sent again within a day, it is answered as before.",
    ),
]


def once(
    desk: Desk,
    caller: Called,
    key: str | None,
    asked: tuple[str, object],
    act: Callable[[], BaseModel],
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
        Does it; its answer is given with 201.

    Raises
    ------
    Stop
        422 for a key that another request had, 409 while the first is being answered.
    """
    if key is None:
        return JSONResponse(json.loads(act().model_dump_json()), 201)
    told = json.dumps([asked[0], asked[1]], sort_keys=True, default=str)
    mark, now = sha256(told.encode()).hexdigest(), desk.service.clock.now()
    with desk.writing() as conn:
        kept = claim_key(conn, caller.token_id, key, mark, now)
    if kept is not None:
        if kept.request_hash != mark:
            raise Stop(422, "This Idempotency-Key was used for another request.")
        if kept.status == RUNNING:
            raise Stop(409, "The same request is being answered; ask again.", {"Retry-After": "1"})
        headers = {"Idempotency-Replayed": "true"}
        return Response(kept.body, kept.status, headers, "application/json")
    try:
        body = act().model_dump_json().encode()
    except BaseException:
        with desk.writing() as conn:
            free_key(conn, caller.token_id, key)
        raise
    with desk.writing() as conn:
        keep_answer(conn, caller.token_id, key, 201, body)
    return Response(body, 201, media_type="application/json")
