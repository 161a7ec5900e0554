"""The latest row of each season up to a night, by one look into the primary key a season."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from sqlalchemy import Connection

from rootbound_service.store.risk_shape import is_sqlite

AT_ONCE = 5000
"""Seasons of one query."""
SQLITE = """
SELECT {columns} FROM {seasons}
JOIN risk r ON r.season_id = w.id AND r.night = (
    SELECT max(o.night) FROM risk o WHERE o.season_id = w.id AND o.night <= ?)
"""
POSTGRES = """
SELECT {columns} FROM {seasons} CROSS JOIN LATERAL (
    SELECT * FROM risk o WHERE o.season_id = w.id AND o.night <= %s
    ORDER BY o.night DESC LIMIT 1) r
"""
"""Partitions are looked at from the latest back, and only until one has a row."""
GIVEN = {
    "sqlite": "(SELECT value AS id FROM json_each(?)) w",
    "postgresql": "unnest(%s::int[]) w (id)",
}


def latest_rows(
    conn: Connection, night: date, seasons: Sequence[int] | None, columns: Sequence[str]
) -> Iterator[Sequence[Any]]:
    """Read the latest row of each season of a night or earlier, as the driver gives it.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The last night that counts.
    seasons
        Only these; None: all.
    columns
        Of the risk table, in the order wanted.

    Yields
    ------
    sequence
        The cells; dates are text on SQLite, JSON is text on both.
    """
    lite = is_sqlite(conn)
    told = night.isoformat() if lite else night
    wanted = ", ".join(f"r.{name}" for name in columns)
    if seasons is None:
        query = (SQLITE if lite else POSTGRES).format(columns=wanted, seasons="season w")
        yield from conn.exec_driver_sql(query, (told,))
        return
    given = GIVEN[conn.dialect.name]
    query = (SQLITE if lite else POSTGRES).format(columns=wanted, seasons=given)
    for start in range(0, len(seasons), AT_ONCE):
        some = list(seasons[start : start + AT_ONCE])
        found = conn.exec_driver_sql(query, (json.dumps(some) if lite else some, told))
        yield from found.fetchall()
