"""What people should have been told and were not, and what of the outbox an operator must see."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ColumnElement, Connection, and_, exists, select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import Channel, MessageKind
from rootbound_service.store.schema import delivery_attempt, note, outbox, outbox_note

NOT_TOLD = ("expired", "dead", "folded", "dropped")
"""What ends a message unsent. ``unknown`` may have arrived, ``suppressed`` was their own wish."""
COLUMNS = (
    "id", "kind", "channel", "status", "subject", "person_id", "created_at", "available_at",
    "not_after", "priority", "attempts", "last_code", "last_error", "sent_at", "sent_local",
    "provider_id",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Unreached:
    """One note that a person should have been told and was not."""

    note_id: int
    season_id: int
    night: date
    to_rung: int | None
    status: str
    """expired, dead, folded or dropped: how its message ended."""
    outbox_id: int
    channel: Channel


@dataclass(frozen=True, slots=True)
class Waiting:
    """One message of the outbox as an operator sees it: no address, no text."""

    id: int
    kind: MessageKind
    channel: Channel
    status: str
    subject: str
    person_id: int | None
    created_at: datetime
    available_at: datetime
    not_after: datetime | None
    priority: int
    attempts: int
    last_code: int | None
    last_error: str | None
    sent_at: datetime | None
    sent_local: str | None
    provider_id: str | None


@dataclass(frozen=True, slots=True)
class Attempt:
    """One try to send a message."""

    number: int
    at: datetime
    outcome: str
    code: int | None
    error: str | None
    lease_held: bool


def unreached(conn: Connection, person_id: int, since: datetime) -> list[Unreached]:
    """Tell which notes a person should have had and got by no channel.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        The person.
    since
        Only of messages made from this moment on.

    Returns
    -------
    list of Unreached
        Latest first, each note once, for the digest to tell it instead.
    """
    other, link = outbox.alias(), outbox_note.alias()
    told = exists().where(
        link.c.note_id == note.c.id,
        link.c.outbox_id == other.c.id,
        other.c.person_id == person_id,
        other.c.status.in_(("sent", "pending", "sending", "unknown")),
    )
    query = (
        select(note.c.id, note.c.season_id, note.c.night, note.c.to_rung)
        .add_columns(outbox.c.status, outbox.c.id.label("outbox_id"), outbox.c.channel)
        .join(outbox_note, outbox_note.c.note_id == note.c.id)
        .join(outbox, outbox.c.id == outbox_note.c.outbox_id)
        .where(outbox.c.person_id == person_id, outbox.c.created_at >= since)
        .where(outbox.c.kind == "note", outbox.c.status.in_(NOT_TOLD), ~told)
        .order_by(note.c.night.desc(), note.c.id.desc(), outbox.c.id)
    )
    found: dict[int, Unreached] = {}
    for row in conn.execute(query):
        found.setdefault(row.id, Unreached(*row))
    return list(found.values())


def dead_letters(conn: Connection, since: datetime) -> list[Waiting]:
    """Tell which messages were given up, or cut off in the middle, after a moment.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    since
        By the time of their last attempt; made after it where none was made.

    Returns
    -------
    list of Waiting
        Oldest first. An operator's notice is among them only where it failed as well.
    """
    tried = exists().where(
        delivery_attempt.c.outbox_id == outbox.c.id, delivery_attempt.c.at > since
    )
    return _listed(conn, outbox.c.status.in_(("dead", "unknown")), tried)


def outbox_listed(
    conn: Connection, statuses: Iterable[str], since: datetime | None = None
) -> list[Waiting]:
    """List messages of the outbox, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    statuses
        Only those of these.
    since
        Only those made from this moment on; None: all.
    """
    made = [] if since is None else [outbox.c.created_at >= since]
    return _listed(conn, outbox.c.status.in_(list(statuses)), *made)


def one_message(conn: Connection, message_id: int) -> tuple[Waiting, list[Attempt]]:
    """Give one message with every try to send it.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    message_id
        Its number.

    Raises
    ------
    RefusedInput
        If there is no such message.
    """
    found = _listed(conn, outbox.c.id == message_id)
    if not found:
        what = f"there is no message {message_id}"
        raise RefusedInput((Problem("message", what, "see rootbound outbox list"),))
    a = delivery_attempt.c
    query = select(a.number, a.at, a.outcome, a.code, a.error, a.lease_held)
    rows = conn.execute(query.where(a.outbox_id == message_id).order_by(a.id))
    return found[0], [Attempt(*row) for row in rows]


def _listed(conn: Connection, *where: ColumnElement[bool]) -> list[Waiting]:
    columns = [outbox.c[name] for name in COLUMNS]
    query = select(*columns).where(and_(*where)).order_by(outbox.c.created_at, outbox.c.id)
    return [Waiting(**row) for row in conn.execute(query).mappings()]
