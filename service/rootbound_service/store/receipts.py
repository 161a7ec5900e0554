"""What was heard of a message after it was handed over."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import Connection, func, insert, select

from rootbound_service.records import Channel
from rootbound_service.store.schema import outbox, receipt

State = Literal["delivered", "delayed", "failed", "unknown"]


def add_receipt(
    conn: Connection, outbox_id: int, now: datetime, state: State, code: str | None, said: str
) -> None:
    """Keep a delivery receipt or a bounce.

    Parameters
    ----------
    conn
        The caller's transaction.
    outbox_id
        The message.
    now
        The time, aware.
    state
        What became of it.
    code
        RFC 3463 status, or what the gateway calls it.
    said
        In words; holds no address.
    """
    values = {"outbox_id": outbox_id, "at": now, "state": state, "code": code, "said": said}
    conn.execute(insert(receipt).values(values))


def message_named(conn: Connection, channel: Channel, provider_id: str) -> int | None:
    """Give the message that a provider names; None where there is none.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    channel, provider_id
        As it was given when the message was taken.
    """
    mine = (outbox.c.channel == channel) & (outbox.c.provider_id == provider_id)
    return conn.scalar(select(outbox.c.id).where(mine).limit(1))


def failures_of(conn: Connection, contact_id: int, now: datetime, back: timedelta) -> int:
    """Count the bounces of a contact in a span of time.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact_id
        The contact.
    now
        Its end, aware.
    back
        How long it is.
    """
    query = (
        select(func.count())
        .select_from(receipt)
        .join(outbox, outbox.c.id == receipt.c.outbox_id)
        .where(outbox.c.contact_id == contact_id, receipt.c.state == "failed")
        .where(receipt.c.at > now - back)
    )
    return conn.scalar(query) or 0
