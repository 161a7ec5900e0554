"""Messages taken by one sender at a time, and left out where their reader wants none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

import structlog
from sqlalchemy import ColumnElement, Connection, Update, and_, or_, select, update

from rootbound_service.records import Channel, OutboxMessage
from rootbound_service.store.contacts import consents
from rootbound_service.store.delivery import in_hand
from rootbound_service.store.outbox import load_messages
from rootbound_service.store.schema import outbox
from rootbound_service.store.suppressions import address_hash, suppress, suppressed_of

PASSES = ("operator", "answer")
"""Kinds that are sent whatever was stopped: the service's own, and answers to who wrote to us."""
LONGEST_LEASE = timedelta(hours=1)
"""No sender takes messages for longer; four times what ours do."""
STOPPED, NOT_AGREED = "the reader has stopped these messages", "no consent to texts on record"
_log = structlog.get_logger(__name__)


def claim(
    conn: Connection,
    me: str,
    now: datetime,
    lease: timedelta,
    limit: int,
    *,
    channel: Channel | None = None,
) -> list[OutboxMessage]:
    """Take messages that are due, so that no other sender takes them before the lease ends.

    Commit before sending. A message whose sender was lost is claimed again once its lease
    has run out; one that is past its ``not_after`` is marked expired instead, and one that its
    reader has stopped is marked suppressed.

    Parameters
    ----------
    conn
        A transaction of its own.
    me
        The sender; a name that no other process has and that a restart changes.
    now
        The time.
    lease
        For how long; more than the longest send of the whole batch.
    limit
        How many at most.
    channel
        Only messages of this one; None: of all.

    Returns
    -------
    list of OutboxMessage
        The most urgent first; ``attempts`` counts this one.
    """
    open_ = _open(now)
    conn.execute(_set_status(and_(open_, outbox.c.not_after < now), "expired"))
    only = [] if channel is None else [outbox.c.channel == channel]
    due = (
        select(outbox.c.id, outbox.c.status)
        .where(open_, outbox.c.available_at <= now, *only)
        .order_by(outbox.c.priority, outbox.c.available_at, outbox.c.id)
        .limit(limit)
        .with_for_update(skip_locked=True)  # no word of it on SQLite: there BEGIN locks all
    )
    rows = conn.execute(due).all()
    ids = [row.id for row in rows]
    if lapsed := sum(row.status == "sending" for row in rows):
        _log.warning("messages_taken_over", messages=lapsed, why="their sender never came back")
    mine = update(outbox).where(outbox.c.id.in_(ids))
    conn.execute(
        mine.values(
            status="sending",
            claimed_by=me,
            claimed_until=now + lease,
            attempts=outbox.c.attempts + 1,
        )
    )
    messages = load_messages(conn, ids)
    refused = unwanted(conn, messages)
    for one, why in refused.items():
        _suppress(conn, one, why)
    return [message for message in messages if message.id not in refused]


def unwanted(conn: Connection, messages: Sequence[OutboxMessage]) -> dict[int, str]:
    """Tell which messages must not go, and why: stopped, or never agreed to.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    messages
        Claimed ones.

    Returns
    -------
    dict
        Reason by the id of each that must not go.
    """
    asked = [one for one in messages if one.kind not in PASSES]
    hashes = {one.id: address_hash(one.channel, one.to_address) for one in asked}
    stopped = suppressed_of(conn, hashes.values())
    agreed = consents(conn, [one.contact_id for one in asked if one.contact_id is not None])
    found: dict[int, str] = {}
    for one in asked:
        scopes = stopped[hashes[one.id]]
        if "all" in scopes or one.kind in scopes:
            found[one.id] = STOPPED
        elif one.channel == "text" and one.contact_id not in agreed:
            found[one.id] = NOT_AGREED
    return found


def still_wanted(conn: Connection, message: OutboxMessage, me: str) -> bool:
    """Look once more just before sending: somebody may have stopped it since the claim.

    Parameters
    ----------
    conn
        A transaction of its own.
    message
        One that was claimed.
    me
        The sender that claimed it.

    Returns
    -------
    bool
        False where it must not go; it is marked then.
    """
    why = unwanted(conn, [message]).get(message.id)
    if why is not None:
        _suppress(conn, message.id, why, me)
    return why is None


def put_back(conn: Connection, message_id: int, me: str, available_at: datetime) -> bool:
    """Put a claimed message back untried; it does not count as an attempt.

    Parameters
    ----------
    conn
        A transaction of its own.
    message_id
        The message.
    me
        The sender that claimed it.
    available_at
        Not before this.

    Returns
    -------
    bool
        False if another sender has taken over.
    """
    change = {"status": "pending", "available_at": available_at, "claimed_by": None}
    change |= {"claimed_until": None, "attempts": outbox.c.attempts - 1}
    return conn.execute(in_hand(message_id, me).values(change)).rowcount == 1


def suppress_reader(conn: Connection, message_id: int, why: str, now: datetime) -> None:
    """Write no more to the address of a message.

    Parameters
    ----------
    conn
        A transaction of its own.
    message_id
        The message.
    why
        In few words; names nobody.
    now
        The time.
    """
    whose = select(outbox.c.channel, outbox.c.to_address, outbox.c.kind)
    row = conn.execute(whose.where(outbox.c.id == message_id)).one_or_none()
    if row is not None and row.kind not in PASSES:
        suppress(conn, row.channel, row.to_address, "all", why, now)


def _suppress(conn: Connection, message_id: int, why: str, me: str | None = None) -> None:
    change = {"status": "suppressed", "last_error": why, "claimed_by": None, "claimed_until": None}
    this = (
        update(outbox).where(outbox.c.id == message_id) if me is None else in_hand(message_id, me)
    )
    conn.execute(this.values(change))


def _open(now: datetime) -> ColumnElement[bool]:
    """Whatever nobody has in hand: pending, or taken by a sender whose lease has run out.

    A lease that ends further ahead than any lasts was taken before the clock was set back.
    """
    ended = or_(outbox.c.claimed_until < now, outbox.c.claimed_until > now + LONGEST_LEASE)
    return or_(outbox.c.status == "pending", and_(outbox.c.status == "sending", ended))


def _set_status(where: ColumnElement[bool], status: str) -> Update:
    """Change rows that no other sender is changing at this moment."""
    free = select(outbox.c.id).where(where).with_for_update(skip_locked=True)
    return (
        update(outbox)
        .where(outbox.c.id.in_(free))
        .values(status=status, claimed_by=None, claimed_until=None)
    )


def drop_pending(conn: Connection, ids: Iterable[int], why: str) -> int:
    """Give waiting or given-up messages up for good, by hand; how many were.

    Parameters
    ----------
    conn
        A transaction of its own.
    ids
        The messages.
    why
        In the operator's words.
    """
    loose = outbox.c.status.in_(("pending", "dead", "unknown", "expired"))
    this = update(outbox).where(outbox.c.id.in_(list(ids)), loose)
    return conn.execute(this.values(status="dropped", last_error=why)).rowcount


def retry_now(
    conn: Connection, ids: Iterable[int], now: datetime, not_after: datetime | None
) -> int:
    """Let messages that were given up be sent again; how many were.

    Parameters
    ----------
    conn
        A transaction of its own.
    ids
        The messages.
    now
        They are due from this moment on.
    not_after
        Until when they are worth sending; None: for good.
    """
    stuck = outbox.c.status.in_(("pending", "dead", "unknown", "expired", "dropped"))
    this = update(outbox).where(outbox.c.id.in_(list(ids)), stuck)
    change = {"status": "pending", "available_at": now, "not_after": not_after, "attempts": 0}
    return conn.execute(this.values(change)).rowcount
