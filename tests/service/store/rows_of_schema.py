"""Rows for every table, made from the schema itself, so that a new table cannot be forgotten."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Connection,
    Date,
    Engine,
    Float,
    Integer,
    LargeBinary,
    Table,
    Text,
    insert,
)

from rootbound_service.store.portable import PortableJSON, UTCDateTime
from rootbound_service.store.risk_months import room_for
from rootbound_service.store.schema import metadata

ROWS = (1, 2, 3)
"""The first with NULL wherever that may be, the second with odd values, the third plain."""
ODD = {
    Text: "Würm 🌽\t\\N \\. 'quoted' \"x\"\r\n",
    PortableJSON: {"a": [0.1 + 0.2, None, "🌽\u0000"], "b": {}},
    Integer: 2**31 - 1,
    Float: -1.0000000000000002e-300,
    Boolean: False,
    Date: date(1823, 2, 3),
    UTCDateTime: datetime(1931, 12, 31, 23, 59, 59, 999999, tzinfo=UTC),
    LargeBinary: b"",
}


def fill(engine: Engine) -> None:
    """Put three rows into every table."""
    with engine.begin() as conn:
        for table in metadata.sorted_tables:
            rows = [row_of(table, number) for number in ROWS]
            if table.name == "risk":
                room_for(conn, [row["night"] for row in rows])
            conn.execute(insert(table), rows)
            _point_ahead(conn, table)


def row_of(table: Table, number: int) -> dict[str, Any]:
    """Make one row that the table's checks allow."""
    allowed = _allowed(table)
    return {one.name: _cell(one, number, allowed.get(one.name)) for one in table.columns}


def _point_ahead(conn: Connection, table: Table) -> None:
    """Let the first row of a table that points at itself point at the last."""
    for column in table.columns:
        if _points_at_itself(column):
            first = table.c.id == ROWS[0]
            conn.execute(table.update().where(first).values({column.name: ROWS[-1]}))


def _points_at_itself(column: Column[Any]) -> bool:
    return any(key.column.table is column.table for key in column.foreign_keys)


def _cell(column: Column[Any], number: int, allowed: object) -> object:
    if _points_at_itself(column):
        return None
    if column.foreign_keys or (column.primary_key and isinstance(column.type, Integer)):
        return number
    if column.nullable and number == ROWS[0]:
        return None
    if allowed is not None:
        return allowed
    if number == ROWS[1]:
        return ODD[type(column.type)]
    return _plain(column, number)


def _plain(column: Column[Any], number: int) -> object:
    start = datetime(2026, 7, 14, 11, 0, 0, 250, tzinfo=UTC)
    plain: dict[type[Any], object] = {
        Text: f"{column.name} {number}",
        PortableJSON: {"n": number},
        Integer: number,
        Float: number / 3,
        Boolean: True,
        Date: date(2026, 7, 14) + timedelta(days=number),
        UTCDateTime: start + timedelta(hours=number),
        LargeBinary: bytes(range(256)) * number,
    }
    return plain[type(column.type)]


def _allowed(table: Table) -> dict[str, object]:
    """The last value that each checked column may have."""
    found: dict[str, object] = {}
    for one in table.constraints:
        if isinstance(one, CheckConstraint):
            said = str(one.sqltext)
            if words := re.fullmatch(r"(\w+) IN \((.*)\)", said, re.DOTALL):
                found[words[1]] = re.findall(r"'(\w+)'", words[2])[-1]
            elif ends := re.fullmatch(r"(\w+) BETWEEN (-?\d+) AND (\d+)", said):
                found[ends[1]] = int(ends[3])
    return found
