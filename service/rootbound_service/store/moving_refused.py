"""Which rows a database cannot hold, and what to do about each."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import Boolean, Column, Connection, Float, Integer, Row, Text

from rootbound_service.errors import Problem
from rootbound_service.store.moving_tables import Portable, batches_of, pointing_at_nothing

MOST = 20
"""Rows told at once."""
LEAST_INTEGER, HIGHEST_INTEGER = -(2**31), 2**31 - 1
"""What PostgreSQL's integer holds; SQLite's holds 64 bits."""


def not_held(conn: Connection, tables: Iterable[Portable], dialect: str) -> tuple[Problem, ...]:
    """Find the rows that a database cannot hold as they are.

    Parameters
    ----------
    conn
        The source's transaction.
    tables
        Those to look through.
    dialect
        Of the new database: ``postgresql`` or ``sqlite``.

    Returns
    -------
    tuple of Problem
        The first ones; each names the table, the row and the column, and repeats no value.
    """
    found = [
        Problem(
            f"{lost.table}, row {lost.row}",
            f"points at a row of {lost.target} that is not there",
            "delete it in the old database (WHERE rowid = ...), or put back what it points at",
        )
        for lost in pointing_at_nothing(conn)[:MOST]
    ]
    for one in tables:
        for rows in batches_of(conn, one):
            for row in rows:
                found += _of_row(one, row, dialect)
                if len(found) >= MOST:
                    return tuple(found[:MOST])
    return tuple(found)


def _of_row(one: Portable, row: Row[Any], dialect: str) -> Iterator[Problem]:
    for column, value in zip(one.table.columns, row, strict=True):
        if value is None:
            continue
        wrong = _on_postgres(column, value) if dialect == "postgresql" else _on_sqlite(value)
        if wrong is not None:
            yield Problem(f"{one.name}, {_named(one, row)}, {column.name}", *wrong)


def _on_postgres(column: Column[Any], value: object) -> tuple[str, str] | None:
    if isinstance(column.type, Text):
        if not isinstance(value, str):
            return f"holds {_kind(value)}, not text", "write it as text in the old database"
        if "\0" in value:
            return (
                "holds a NUL character, which PostgreSQL keeps in no text",
                f"take it out of the old database by SQL: {_without_nul(column.name)}",
            )
    if isinstance(column.type, Integer) and not isinstance(column.type, Boolean):
        if not isinstance(value, int):
            return f"holds {_kind(value)}, not a whole number", "correct it in the old database"
        if not LEAST_INTEGER <= value <= HIGHEST_INTEGER:
            return (
                "is more than PostgreSQL's integer holds",
                f"set it between {LEAST_INTEGER} and {HIGHEST_INTEGER} in the old database",
            )
    if isinstance(column.type, Float) and not isinstance(value, (int, float)):
        return f"holds {_kind(value)}, not a number", "correct it in the old database"
    return None


def _without_nul(name: str) -> str:
    """An expression without the first NUL: SQLite's replace() takes none for a pattern."""
    raw = f"CAST({name} AS BLOB)"
    at = f"instr({raw}, x'00')"
    return (
        f"set it to CAST(substr({raw}, 1, {at} - 1) || substr({raw}, {at} + 1) AS TEXT), "
        "as often as it has one"
    )


def _on_sqlite(value: object) -> tuple[str, str] | None:
    if isinstance(value, float) and math.isnan(value):
        return "is not a number (NaN), which SQLite turns into NULL", "set it to NULL or a number"
    return None


def _named(one: Portable, row: Row[Any]) -> str:
    cells = zip(one.table.columns, row, strict=True)
    return " ".join(f"{column.name} {value}" for column, value in cells if column.primary_key)


def _kind(value: object) -> str:
    names = ((str, "text"), (bytes, "bytes"), (float, "a fraction"))
    return next((name for kind, name in names if isinstance(value, kind)), "something else")
