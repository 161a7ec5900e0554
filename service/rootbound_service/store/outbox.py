"""Messages that wait to be sent: put in with the decision, read whole, counted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields
from typing import Any

from sqlalchemy import Connection, func, select

from rootbound_service.errors import ServiceError
from rootbound_service.records import OutboxMessage
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import note, outbox, outbox_image, outbox_note

STATUSES = (
    "pending",
    "sending",
    "sent",
    "dead",
    "expired",
    "unknown",
    "suppressed",
    "folded",
    "dropped",
)
APART = {"id", "images", "note_keys", "attempts", "status"}
COLUMNS = tuple(one.name for one in fields(OutboxMessage) if one.name not in APART)


def enqueue(conn: Connection, messages: Iterable[OutboxMessage]) -> int:
    """Put messages in the outbox; one whose dedupe key is there already is left out.

    Parameters
    ----------
    conn
        The transaction that also stores what the messages tell.
    messages
        The messages; ids and attempts are not read.

    Returns
    -------
    int
        How many were new.

    Raises
    ------
    ServiceError
        If a message carries a note that is not stored: it could not be explained later.
    """
    return sum(_put(conn, message) for message in messages)


def first_message_key(
    conn: Connection, thread_key: str, *, person_id: int | None = None
) -> str | None:
    """Tell which message a thread began with.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    thread_key
        The thread.
    person_id
        Only messages to this person; None: to anybody.

    Returns
    -------
    str or None
        The first message's dedupe key; None for a thread without messages.
    """
    if not thread_key:
        return None
    where = [outbox.c.thread_key == thread_key]
    if person_id is not None:
        where.append(outbox.c.person_id == person_id)
    query = select(outbox.c.dedupe_key).where(*where)
    return conn.scalar(query.order_by(outbox.c.created_at, outbox.c.id).limit(1))


def counts(conn: Connection) -> dict[str, int]:
    """Count the messages by status.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.

    Returns
    -------
    dict
        Every status with its count, 0 included.
    """
    query = select(outbox.c.status, func.count().label("messages")).group_by(outbox.c.status)
    counted = {row.status: row.messages for row in conn.execute(query)}
    return dict.fromkeys(STATUSES, 0) | counted


def _put(conn: Connection, message: OutboxMessage) -> bool:
    values: dict[str, Any] = {name: getattr(message, name) for name in COLUMNS}
    new = insert_into(conn, outbox).values(values | {"status": message.status, "attempts": 0})
    new = new.on_conflict_do_nothing(index_elements=["dedupe_key"])
    outbox_id = conn.scalar(new.returning(outbox.c.id))
    if outbox_id is None:
        return False
    images = [
        {"outbox_id": outbox_id, "content_id": content_id, "png": png}
        for content_id, png in message.images.items()
    ]
    if images:
        conn.execute(insert_into(conn, outbox_image), images)
    links = [{"outbox_id": outbox_id, "note_id": one} for one in _note_ids(conn, message)]
    if links:
        conn.execute(insert_into(conn, outbox_note), links)
    return True


def _note_ids(conn: Connection, message: OutboxMessage) -> list[int]:
    wanted = set(message.note_keys)
    rows = conn.execute(select(note.c.dedupe_key, note.c.id).where(note.c.dedupe_key.in_(wanted)))
    ids = {row.dedupe_key: row.id for row in rows}
    if missing := sorted(wanted - set(ids)):
        text = f"message {message.dedupe_key} carries notes that are not stored: {missing}"
        raise ServiceError(text)
    return sorted(ids.values())


def load_messages(conn: Connection, ids: Iterable[int]) -> list[OutboxMessage]:
    """Load messages with their images and notes, in the order of the ids.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    ids
        Of messages that are there.
    """
    wanted = list(ids)
    images: dict[int, dict[str, bytes]] = {one: {} for one in wanted}
    query = select(outbox_image).where(outbox_image.c.outbox_id.in_(wanted))
    for row in conn.execute(query):
        images[row.outbox_id][row.content_id] = row.png
    keys: dict[int, list[str]] = {one: [] for one in wanted}
    linked = select(outbox_note.c.outbox_id, note.c.dedupe_key).join(note)
    for owner, key in conn.execute(linked.where(outbox_note.c.outbox_id.in_(wanted))):
        keys[owner].append(key)
    rows = conn.execute(select(outbox).where(outbox.c.id.in_(wanted))).mappings()
    messages = {
        row["id"]: OutboxMessage(
            id=row["id"],
            attempts=row["attempts"],
            images=images[row["id"]],
            note_keys=tuple(sorted(keys[row["id"]])),
            **{name: row[name] for name in COLUMNS},
        )
        for row in rows
    }
    return [messages[one] for one in wanted]
