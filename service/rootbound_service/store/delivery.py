"""What became of a message that was sent, as its sender reports it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Update, func, insert, select, update

from rootbound_service.store.schema import consent_event, delivery_attempt, outbox


@dataclass(frozen=True, slots=True)
class Taken:
    """How a channel took a message: kept with it, so that it stays readable as it was sent."""

    provider_id: str | None = None
    """What the channel calls it, if it says so."""
    headers: str = ""
    local: str = ""
    """What the reader's clock said."""


def mark_sent(conn: Connection, message_id: int, me: str, now: datetime, taken: Taken) -> bool:
    """Note that a message was accepted by the channel.

    Parameters
    ----------
    conn
        A transaction of its own.
    message_id
        The message.
    me
        The sender that claimed it.
    now
        The time.
    taken
        How the channel took it.

    Returns
    -------
    bool
        False if another sender has taken over; the attempt is kept all the same.
    """
    agreed = select(func.max(consent_event.c.id)).where(
        consent_event.c.contact_id == outbox.c.contact_id, consent_event.c.kind != "withdrawn"
    )
    result: dict[str, Any] = {"status": "sent", "sent_at": now, "provider_id": taken.provider_id}
    result |= {"sent_headers": taken.headers, "sent_local": taken.local}
    result |= {"consent_id": agreed.scalar_subquery()}
    return _mark(conn, message_id, me, now, result, (None, None))


def mark_retry(
    conn: Connection,
    message_id: int,
    me: str,
    now: datetime,
    available_at: datetime,
    code: int | None,
    error: str,
) -> bool:
    """Put a message back to be sent again later.

    Parameters
    ----------
    conn, message_id, me, now
        As for :func:`mark_sent`.
    available_at
        Not before this.
    code
        What the channel answered with, if it answered.
    error
        Why, in words; no address.

    Returns
    -------
    bool
        False if another sender has taken over; the attempt is kept all the same.
    """
    result = {"status": "pending", "available_at": available_at}
    return _mark(conn, message_id, me, now, result, (code, error))


def mark_dead(
    conn: Connection, message_id: int, me: str, now: datetime, code: int | None, error: str
) -> bool:
    """Give a message up: sending it again cannot help.

    Parameters
    ----------
    conn, message_id, me, now, code, error
        As for :func:`mark_retry`.

    Returns
    -------
    bool
        False if another sender has taken over; the attempt is kept all the same.
    """
    return _mark(conn, message_id, me, now, {"status": "dead"}, (code, error))


def mark_unknown(
    conn: Connection, message_id: int, me: str, now: datetime, code: int | None, error: str
) -> bool:
    """Note that nobody knows whether a message went out, and leave it at that.

    Parameters
    ----------
    conn, message_id, me, now, code, error
        As for :func:`mark_retry`.

    Returns
    -------
    bool
        False if another sender has taken over; the attempt is kept all the same.
    """
    return _mark(conn, message_id, me, now, {"status": "unknown"}, (code, error))


def in_hand(message_id: int, me: str) -> Update:
    """Begin to change a message, if it is still this sender's.

    Parameters
    ----------
    message_id
        The message.
    me
        The sender that claimed it.
    """
    mine = (outbox.c.claimed_by == me) & (outbox.c.status == "sending")
    return update(outbox).where(outbox.c.id == message_id, mine)


def _mark(
    conn: Connection,
    message_id: int,
    me: str,
    now: datetime,
    result: dict[str, Any],
    reply: tuple[int | None, str | None],
) -> bool:
    """Change the message if it is still this sender's; keep the attempt either way."""
    code, error = reply
    change = result | {"claimed_by": None, "claimed_until": None}
    change |= {"last_code": code, "last_error": error}
    held = conn.execute(in_hand(message_id, me).values(change)).rowcount == 1
    number = conn.scalar(select(outbox.c.attempts).where(outbox.c.id == message_id))
    if number is None:
        return False
    attempt: dict[str, Any] = {"outbox_id": message_id, "number": number, "sender": me}
    attempt |= {"at": now, "outcome": result["status"], "code": code, "error": error}
    conn.execute(insert(delivery_attempt).values(attempt | {"lease_held": held}))
    return held
