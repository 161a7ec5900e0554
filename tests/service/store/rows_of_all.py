"""Rows for every table there is, made from the tables' own description."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Connection,
    Date,
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

MANY = 3
FLOATS = (0.1 + 0.2, 5e-324, -1.7976931348623157e308)
TEXTS = ("", 'Ünter "Ähre", 東\n\ttab \\ \u2028 𝄞', "plain")
BYTES = (bytes(range(256)), b"", b"\x00\x00")

MAKERS: tuple[tuple[type, Callable[[int], Any]], ...] = (
    (Boolean, lambda number: number == 1),
    (UTCDateTime, lambda number: datetime(2026, 7, number, 23, 59, 59, 123456, UTC)),
    (Date, lambda number: date(2026, 2, 27) + timedelta(days=number)),
    (Integer, lambda number: number),
    (Float, lambda number: FLOATS[number - 1]),
    (LargeBinary, lambda number: BYTES[number - 1]),
    (PortableJSON, lambda number: {"b": [number, 0.1 + 0.2, None], "a": TEXTS[number - 1]}),
    (Text, lambda number: f"{TEXTS[number - 1]}{number}"),
)
"""A value of each kind by the row's number; keys and what refers to them are the number."""


def fill_every_table(conn: Connection) -> None:
    """Put three rows into every table; a column that may be empty is, in the second.

    Parameters
    ----------
    conn
        On a database with all tables and no rows.
    """
    for table in metadata.sorted_tables:
        for number in range(1, MANY + 1):
            values = {one.name: _value(table, one, number) for one in table.columns}
            if table.name == "risk":
                room_for(conn, [values["night"]])
            conn.execute(insert(table).values(values))


def _value(table: Table, column: Column[Any], number: int) -> Any:
    if column.nullable and number % MANY == 2:
        return None
    allowed = _allowed(table, column.name)
    if allowed is not None:
        return allowed
    return next(make(number) for kind, make in MAKERS if isinstance(column.type, kind))


def _allowed(table: Table, name: str) -> Any:
    """The first value that a check allows, None where there is none."""
    for one in table.constraints:
        if isinstance(one, CheckConstraint):
            text = str(one.sqltext)
            if found := re.match(rf"{name} IN \('(\w+)'", text):
                return found[1]
            if found := re.match(rf"{name} BETWEEN (-?\d+)", text):
                return int(found[1])
    return None
