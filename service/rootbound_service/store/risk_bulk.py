"""Risk rows written by the thousand: in tuples on SQLite, by COPY on PostgreSQL."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from sqlalchemy import Connection

from rootbound_service.records import RiskRecord
from rootbound_service.store.copying import copy_rows
from rootbound_service.store.risk_shape import (
    COMPARED,
    WRITTEN,
    Cells,
    is_sqlite,
    to_json,
)
from rootbound_service.store.standings import place_of

NAMES = ", ".join(WRITTEN)
ANEW = ", ".join(f"{name} = excluded.{name}" for name in (*COMPARED, "detail"))
INTO = f"INSERT INTO risk ({NAMES})"
UPON = f"ON CONFLICT (season_id, night) DO UPDATE SET {ANEW}"
PUT_LITE = f"{INTO} VALUES ({', '.join('?' * len(WRITTEN))}) {UPON}"
STAND_LITE = """
UPDATE standing SET night = ?, status = ?, rung = ?, place = ?, changed = changed + 1
WHERE season_id = ? AND (night IS NULL OR night <= ?)
"""
STAND_BACK = """
UPDATE standing SET night = ?, status = ?, rung = ?, place = ?, changed = changed + 1
WHERE season_id = ? AND night = ?
"""
WATER = "water_in_reach_mm"
INCOMING = "risk_incoming"
MAKE_INCOMING = f"""
CREATE TEMPORARY TABLE IF NOT EXISTS {INCOMING}
(LIKE risk, place double precision) ON COMMIT DROP
"""
PUT = f"{INTO} SELECT {NAMES} FROM {INCOMING} {UPON}"  # noqa: S608  names of our own
STAND = f"""
UPDATE standing SET night = i.night, status = i.status, rung = i.rung, place = i.place,
changed = standing.changed + 1 FROM {INCOMING} i
WHERE standing.season_id = i.season_id AND (standing.night IS NULL OR standing.night <= i.night)
"""  # noqa: S608  names of our own

Pair = tuple[RiskRecord, Cells]
"""A row and its compared cells as the database has them."""


def put_risk(conn: Connection, night: date, rows: Sequence[Pair]) -> None:
    """Put in the rows of one night, over those that are there, and let their fields stand so.

    Parameters
    ----------
    conn
        The caller's transaction.
    night
        Theirs.
    rows
        Each season once.
    """
    if is_sqlite(conn):
        told = night.isoformat()
        values = [(one.season_id, told, *cells, to_json(one.detail)) for one, cells in rows]
        conn.exec_driver_sql(PUT_LITE, values)
        stands = [(told, one.status, one.rung, _place(one), one.season_id, told) for one, _ in rows]
        conn.exec_driver_sql(STAND_LITE, stands)
        return
    conn.exec_driver_sql(MAKE_INCOMING)
    copy_rows(conn, INCOMING, (*WRITTEN, "place"), _lines(night, rows))
    conn.exec_driver_sql(PUT)
    conn.exec_driver_sql(STAND)
    conn.exec_driver_sql(f"TRUNCATE {INCOMING}")


def drop_risk(conn: Connection, night: date, seasons: Sequence[int]) -> list[int]:
    """Take away the rows of one night, where an earlier run of it left some.

    Parameters
    ----------
    conn
        The caller's transaction.
    night
        The night.
    seasons
        Whose.

    Returns
    -------
    list of int
        The seasons that had one.
    """
    if is_sqlite(conn):
        query = "DELETE FROM risk WHERE night = ? AND season_id IN (SELECT value FROM json_each(?))"
        given: tuple[Any, ...] = (night.isoformat(), json.dumps(list(seasons)))
    else:
        query = "DELETE FROM risk WHERE night = %s AND season_id = ANY(%s)"
        given = (night, list(seasons))
    found = conn.exec_driver_sql(f"{query} RETURNING season_id", given)
    return [row[0] for row in found.fetchall()]


def stand_back(conn: Connection, night: date, rows: Sequence[Sequence[Any]]) -> None:
    """Let fields stand as before a night whose row was taken away.

    Parameters
    ----------
    conn
        The caller's transaction.
    night
        The night.
    rows
        What held before it: the keys and the compared cells.
    """
    if not rows:
        return
    told = night.isoformat() if is_sqlite(conn) else night
    status, rung, water = (2 + COMPARED.index(name) for name in ("status", "rung", WATER))
    values = [
        (one[1], one[status], one[rung], place_of(one[status], one[rung], one[water]), one[0], told)
        for one in rows
    ]
    query = STAND_BACK if is_sqlite(conn) else STAND_BACK.replace("?", "%s")
    conn.exec_driver_sql(query, values)


def _lines(night: date, rows: Sequence[Pair]) -> Iterator[Cells]:
    for one, cells in rows:
        yield (one.season_id, night, *cells, to_json(one.detail), _place(one))


def _place(row: RiskRecord) -> float:
    return place_of(row.status, row.rung, row.water_in_reach_mm)
