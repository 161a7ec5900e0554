"""What was heard of a message after it was handed over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import Connection, insert, select

from rootbound_service.records import Channel, MessageKind
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


def codes_of(conn: Connection, contact_id: int, since: datetime) -> dict[int, str]:
    """Tell which letters of a contact came back, and the code of each.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact_id
        The contact.
    since
        Only what came back after this moment.
    """
    mine = (outbox.c.contact_id == contact_id) & (receipt.c.state == "failed")
    query = select(receipt.c.outbox_id, receipt.c.code).join(outbox).where(mine)
    rows = conn.execute(query.where(receipt.c.at > since).order_by(receipt.c.id))
    return {row.outbox_id: row.code or "" for row in rows}


@dataclass(frozen=True, slots=True)
class CameBack:
    """A message that was taken and failed after all; names nobody."""

    outbox_id: int
    kind: MessageKind
    channel: Channel
    at: datetime
    code: str
    said: str


def came_back(conn: Connection, since: datetime) -> list[CameBack]:
    """List what failed after it was taken, for the operator: oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    since
        Only what was heard after this moment.
    """
    o, r = outbox.c, receipt.c
    query = select(r.outbox_id, o.kind, o.channel, r.at, r.code, r.said).join(outbox)
    rows = conn.execute(query.where(r.state == "failed", r.at > since).order_by(r.id))
    return [CameBack(*row[:4], row.code or "", row.said) for row in rows]
