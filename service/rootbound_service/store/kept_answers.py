"""Answers of the API to requests that may come twice, for a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, Connection, delete, select, update

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import kept_answer

KEPT = timedelta(hours=24)
GIVEN_UP = timedelta(minutes=2)
"""A request still unanswered after this was cut off, and changed nothing: it may be taken over."""
RUNNING = 0
"""Status while the first request is still being answered."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A request that is ours to answer, named by when it was taken on."""

    token_id: int
    key: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Kept:
    """What was answered; ``status`` is RUNNING while nothing is."""

    request_hash: str
    status: int
    body: bytes


def claim_key(
    conn: Connection, token_id: int, key: str, request_hash: str, now: datetime
) -> Claim | Kept:
    """Take a request on, or give what was answered to it before.

    Parameters
    ----------
    conn
        The caller's transaction, to be ended before the request is answered.
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
    Claim or Kept
        A claim: it comes for the first time, or its first was cut off, and is ours to answer.
    """
    claim = Claim(token_id, key, now)
    old = kept_answer.c.at < now - KEPT
    conn.execute(delete(kept_answer).where(kept_answer.c.token_id == token_id, old))
    put = insert_into(conn, kept_answer).values(
        token_id=token_id, key=key, request_hash=request_hash, at=now, status=RUNNING, body=b""
    )
    put = put.on_conflict_do_nothing(index_elements=["token_id", "key"])
    if conn.scalar(put.returning(kept_answer.c.id)) is not None:
        return claim
    same = _named(token_id, key) & (kept_answer.c.request_hash == request_hash)
    cut_off = (kept_answer.c.status == RUNNING) & (kept_answer.c.at < now - GIVEN_UP)
    if conn.execute(update(kept_answer).where(same, cut_off).values(at=now)).rowcount:
        return claim
    row = conn.execute(select(kept_answer).where(_named(token_id, key))).one()
    return Kept(row.request_hash, row.status, row.body)


def keep_answer(conn: Connection, claim: Claim, status: int, body: bytes) -> bool:
    """Keep what is answered, in the transaction that does what was asked.

    Parameters
    ----------
    conn
        The caller's transaction.
    claim
        The request.
    status, body
        The answer.

    Returns
    -------
    bool
        False if somebody else has taken the request over: then nothing is to be done.
    """
    change = update(kept_answer).where(*_ours(claim)).values(status=status, body=body)
    return conn.execute(change).rowcount > 0


def free_key(conn: Connection, claim: Claim) -> None:
    """Let a request be tried anew that came to nothing.

    Parameters
    ----------
    conn
        The caller's transaction.
    claim
        The request.
    """
    conn.execute(delete(kept_answer).where(*_ours(claim)))


def _named(token_id: int, key: str) -> ColumnElement[bool]:
    return (kept_answer.c.token_id == token_id) & (kept_answer.c.key == key)


def _ours(claim: Claim) -> tuple[ColumnElement[bool], ...]:
    running = kept_answer.c.status == RUNNING
    return (_named(claim.token_id, claim.key), running, kept_answer.c.at == claim.at)
