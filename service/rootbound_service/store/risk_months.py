"""PostgreSQL keeps the risk rows in a partition a calendar month, made before they are needed.

Why a month: every night writes a row beside each season's earlier ones, so a night touches
the whole of a partition's primary key. With a year that index grows to some gigabytes for a
million fields, all of it written anew every night; of a month it is a thirtieth to a whole
of a twelfth. A season's rows then lie in six or seven partitions, each of which a page looks
into.

Old months are taken away by whoever runs the database, when nobody looks at those seasons
any more::

    ALTER TABLE risk DETACH PARTITION risk_2021_07 CONCURRENTLY;
    -- pg_dump -t risk_2021_07 ..., then
    DROP TABLE risk_2021_07;

Nothing else points at risk rows. A season whose rows are gone shows no history. A detached
table that is still there must keep out of the way of a night that is run for that month
again: attach it, rename it or drop it. SQLite has no partitions: all of this does nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, text

from rootbound_service.errors import ServiceError

AHEAD = 2
"""Months made ahead of the present one."""
LOCK = 7_266_824
"""Our number among PostgreSQL's advisory locks: one process makes months, the others wait."""
THERE = text("""
    SELECT c.relname FROM pg_inherits i JOIN pg_class c ON c.oid = i.inhrelid
    WHERE i.inhparent = to_regclass('risk')
""")
IS_CUT = text("SELECT relkind = 'p' FROM pg_class WHERE oid = to_regclass('risk')")


def make_room(engine: Engine, today: date) -> list[str]:
    """Make this month's partition and the next ones, in a transaction of its own.

    The worker does it every few hours, so that no night has to: while a partition is made,
    nobody can enrol a field, and a night's transaction is long.

    Parameters
    ----------
    engine
        The database.
    today
        The day.

    Returns
    -------
    list of str
        Partitions that are new.
    """
    if engine.dialect.name != "postgresql":
        return []
    months = [today]
    for _ in range(AHEAD):
        months.append(_following(months[-1]))
    with engine.begin() as conn:
        return room_for(conn, months)


def room_for(conn: Connection, nights: Iterable[date]) -> list[str]:
    """Make the partitions of some nights where they are not there yet.

    Parameters
    ----------
    conn
        The caller's transaction, in which rows of these nights are to be put in.
    nights
        Any nights.

    Returns
    -------
    list of str
        Partitions that are new.

    Raises
    ------
    ServiceError
        If a month was detached and its table is in the way.
    """
    if conn.dialect.name != "postgresql":
        return []
    months = {_name(night): night.replace(day=1) for night in nights}
    if not (wanted := set(months) - _there(conn)) or not conn.scalar(IS_CUT):
        return []
    conn.execute(text(f"SELECT pg_advisory_xact_lock({LOCK})"))
    made = sorted(wanted - _there(conn))
    for name in made:
        _make(conn, name, months[name])
    return made


def with_room(conn: Connection, rows: Iterable[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Let rows by, each after its month's partition was made.

    Parameters
    ----------
    conn
        The caller's transaction; it must be free for a statement between two rows.
    rows
        Of the risk table, by the column's name.

    Yields
    ------
    dict
        The rows as they came.
    """
    seen: set[str] = set()
    for row in rows:
        night: date = row["night"]
        if (name := _name(night)) not in seen:
            room_for(conn, [night])
            seen.add(name)
        yield row


def months_there(conn: Connection) -> set[str]:
    """Name the partitions of the risk table; none on SQLite.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    return _there(conn) if conn.dialect.name == "postgresql" else set()


def _there(conn: Connection) -> set[str]:
    return set(conn.scalars(THERE))


def _name(night: date) -> str:
    return f"risk_{night.year:04d}_{night.month:02d}"


def _following(night: date) -> date:
    return (night.replace(day=1) + timedelta(days=31)).replace(day=1)


def _make(conn: Connection, name: str, first: date) -> None:
    """Make a month beside the table and attach it, which keeps no reader or writer waiting."""
    if conn.scalar(text("SELECT to_regclass(:name)"), {"name": name}) is not None:
        message = f"the table {name} is there but is no partition of risk; "
        raise ServiceError(message + "attach it, rename it or drop it, then begin again")
    conn.execute(text(f"CREATE TABLE {name} (LIKE risk INCLUDING DEFAULTS INCLUDING CONSTRAINTS)"))
    within = f"FROM ('{first.isoformat()}') TO ('{_following(first).isoformat()}')"
    conn.execute(text(f"ALTER TABLE risk ATTACH PARTITION {name} FOR VALUES {within}"))
