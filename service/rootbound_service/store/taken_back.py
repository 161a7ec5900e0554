"""Messages of a night that still wait, and those a later run of the same night takes back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from sqlalchemy import Connection, select

from rootbound_service.store.schema import note, outbox, outbox_image, outbox_note
from rootbound_service.store.slices import slices

UNSENT = ("pending", "folded")


@dataclass(frozen=True, slots=True)
class OfNight:
    """One message of a night to one contact."""

    id: int
    contact_id: int
    waits: bool
    """Nobody has tried to send it yet."""
    pending: bool
    """It is to be sent."""
    notes: dict[str, int] = field(default_factory=dict[str, int])
    """What it tells: the season by each note's key."""


def messages_of_night(conn: Connection, night: date) -> list[OfNight]:
    """Give the notes a night has written to contacts, in the order they were written.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The night, which stands in the name of its messages.
    """
    mine = (
        (outbox.c.kind == "note")
        & outbox.c.contact_id.is_not(None)
        & outbox.c.dedupe_key.startswith("note-")
        & outbox.c.dedupe_key.contains(f"-{night}-")
    )
    query = select(outbox.c.id, outbox.c.contact_id, outbox.c.status, outbox.c.attempts)
    found: dict[int, OfNight] = {}
    for row in conn.execute(query.where(mine).order_by(outbox.c.id)):
        waits = row.status in UNSENT and not row.attempts
        found[row.id] = OfNight(row.id, row.contact_id, waits, row.status == "pending")
    told = select(outbox_note.c.outbox_id, note.c.dedupe_key, note.c.season_id)
    told = told.select_from(outbox_note).join(note).join(outbox).where(mine)
    for outbox_id, key, season_id in conn.execute(told):
        if outbox_id in found:
            found[outbox_id].notes[key] = season_id
    return list(found.values())


def take_back(conn: Connection, ids: Iterable[int]) -> frozenset[int]:
    """Remove messages that nobody has tried to send; those that are on their way stay.

    Parameters
    ----------
    conn
        The transaction that puts in what takes their place.
    ids
        The messages.

    Returns
    -------
    frozenset of int
        Those removed. Their names are free again: the same notes may be written once more.
    """
    unsent = outbox.c.status.in_(UNSENT) & (outbox.c.attempts == 0)
    gone: set[int] = set()
    for some in slices(ids):
        query = select(outbox.c.id).where(outbox.c.id.in_(some), unsent).with_for_update()
        free = conn.scalars(query).all()
        for table in (outbox_note, outbox_image):
            conn.execute(table.delete().where(table.c.outbox_id.in_(free)))
        conn.execute(outbox.delete().where(outbox.c.id.in_(free)))
        gone.update(free)
    return frozenset(gone)
