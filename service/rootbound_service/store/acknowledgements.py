"""Who has seen what a field came to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime

from sqlalchemy import Connection, insert, select

from rootbound_service.records import Acknowledgement
from rootbound_service.store.schema import acknowledgement, note, outbox_note


def acknowledge(conn: Connection, records: Iterable[Acknowledgement]) -> None:
    """Keep that somebody has seen what fields came to.

    Parameters
    ----------
    conn
        The caller's transaction.
    records
        One a season.
    """
    if rows := [asdict(one) for one in records]:
        conn.execute(insert(acknowledgement), rows)


def acknowledged_since(conn: Connection, season_id: int, since: datetime) -> bool:
    """Tell whether anybody has seen what a field came to since a moment.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_id
        The field's season.
    since
        Aware.
    """
    seen = select(acknowledgement.c.id).where(
        acknowledgement.c.season_id == season_id, acknowledgement.c.at >= since
    )
    return conn.scalar(seen.limit(1)) is not None


def seasons_told(conn: Connection, outbox_id: int, *, latest: bool = False) -> tuple[int, ...]:
    """Give the seasons that a message tells of.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    outbox_id
        The message.
    latest
        Only those of which no newer note tells.
    """
    query = select(note.c.season_id).join(outbox_note).where(outbox_note.c.outbox_id == outbox_id)
    if latest:
        newer = note.alias()
        later = select(newer.c.id).where(
            newer.c.season_id == note.c.season_id, newer.c.night > note.c.night
        )
        query = query.where(~later.correlate(note).exists())
    return tuple(conn.scalars(query.distinct().order_by(note.c.season_id)))
