"""Fields that somebody does not want to hear of for a while."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import date, datetime

from sqlalchemy import Connection, func, insert, select

from rootbound_service.records import Silence
from rootbound_service.store.schema import silence
from rootbound_service.store.slices import slices

MOST_DAYS = 30
"""A field is silent for so long at the most: nobody remembers what they silenced in spring."""


def put_silence(conn: Connection, record: Silence) -> None:
    """Keep a silence; a later one of the same person and field takes its place.

    Parameters
    ----------
    conn
        The caller's transaction.
    record
        Until when; a day that is over ends an earlier one.
    """
    conn.execute(insert(silence).values(asdict(record)))


def silenced_fields(conn: Connection, person_id: int, on: date) -> dict[int, date]:
    """Tell which fields a person is silent about on a day, each with the last silent day.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        The person.
    on
        The day.
    """
    return silences_of(conn, [person_id], on)[person_id]


def silences_of(
    conn: Connection, person_ids: Iterable[int], on: date
) -> dict[int, dict[int, date]]:
    """Tell the same of several people.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_ids
        The people.
    on
        The day.
    """
    asked = set(person_ids)
    found: dict[int, dict[int, date]] = {one: {} for one in asked}
    for some in slices(asked):
        last = (
            select(func.max(silence.c.id))
            .where(silence.c.person_id.in_(some))
            .group_by(silence.c.person_id, silence.c.field_id)
        )
        rows = conn.execute(select(silence).where(silence.c.id.in_(last), silence.c.until >= on))
        for row in rows:
            found[row.person_id][row.field_id] = row.until
    return found


def silenced_since(conn: Connection, field_id: int, since: datetime) -> bool:
    """Tell whether anybody has silenced a field since a moment: who does has read of it.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    field_id
        The field.
    since
        Aware.
    """
    said = (silence.c.field_id == field_id) & (silence.c.at >= since)
    return conn.scalar(select(silence.c.id).where(said).limit(1)) is not None
