"""Secret addresses under which a person's machines read: shown once, kept as a hash."""

from __future__ import annotations

from datetime import datetime
from secrets import token_urlsafe

from sqlalchemy import Connection, insert, select, update

from rootbound_service.records import Person
from rootbound_service.store.keys import key_hash
from rootbound_service.store.people import person_from
from rootbound_service.store.schema import feed_key, person


def make_feed_key(conn: Connection, person_id: int, now: datetime) -> str:
    """Make a key; earlier ones go on working until they are ended.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        Whose fields it shows.
    now
        The time, aware.

    Returns
    -------
    str
        The key: nobody can read it from the store again.
    """
    key = token_urlsafe(24)
    values = {"person_id": person_id, "key_hash": key_hash(key), "made_at": now, "ended_at": None}
    conn.execute(insert(feed_key).values(values))
    return key


def reader_of_key(conn: Connection, key: str) -> Person | None:
    """Tell whose fields a key shows; None for one that is not ours, or ended.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    key
        As it came.
    """
    mine = (feed_key.c.key_hash == key_hash(key)) & feed_key.c.ended_at.is_(None)
    query = select(person).join(feed_key, feed_key.c.person_id == person.c.id).where(mine)
    row = conn.execute(query).mappings().one_or_none()
    return None if row is None else person_from(row)


def end_feed_keys(conn: Connection, person_id: int, now: datetime) -> int:
    """End every key of a person; how many there were.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        Whose.
    now
        The time, aware.
    """
    open_ = (feed_key.c.person_id == person_id) & feed_key.c.ended_at.is_(None)
    return conn.execute(update(feed_key).where(open_).values(ended_at=now)).rowcount
