"""Answers of the API to requests that may come twice, for a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, select, update

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import kept_answer

KEPT = timedelta(hours=24)
RUNNING = 0
"""Status while the first request is still being answered."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What was answered."""

    request_hash: str
    status: int
    body: bytes


def claim_key(
    conn: Connection, token_id: int, key: str, request_hash: str, now: datetime
) -> Kept | None:
    """Take a request on, or give what was answered to it before.

    Parameters
    ----------
    conn
        The caller's transaction.
    token_id
        Who calls.
    key
        As the caller names the request.
    request_hash
        What was asked.
    now
        The time.

    Returns
    -------
    Kept or None
        None: it comes for the first time and is now ours to answer.
    """
    old = kept_answer.c.at < now - KEPT
    conn.execute(delete(kept_answer).where(kept_answer.c.token_id == token_id, old))
    put = insert_into(conn, kept_answer).values(
        token_id=token_id, key=key, request_hash=request_hash, at=now, status=RUNNING, body=b""
    )
    put = put.on_conflict_do_nothing(index_elements=["token_id", "key"])
    if conn.scalar(put.returning(kept_answer.c.id)) is not None:
        return None
    here = (kept_answer.c.token_id == token_id) & (kept_answer.c.key == key)
    row = conn.execute(select(kept_answer).where(here)).one()
    return Kept(row.request_hash, row.status, row.body)


def keep_answer(conn: Connection, token_id: int, key: str, status: int, body: bytes) -> None:
    """Keep what was answered.

    Parameters
    ----------
    conn
        The caller's transaction.
    token_id, key
        The request.
    status, body
        The answer.
    """
    here = (kept_answer.c.token_id == token_id) & (kept_answer.c.key == key)
    conn.execute(update(kept_answer).where(here).values(status=status, body=body))


def free_key(conn: Connection, token_id: int, key: str) -> None:
    """Let a request be tried anew that came to nothing.

    Parameters
    ----------
    conn
        The caller's transaction.
    token_id, key
        The request.
    """
    here = (kept_answer.c.token_id == token_id) & (kept_answer.c.key == key)
    conn.execute(delete(kept_answer).where(here))
