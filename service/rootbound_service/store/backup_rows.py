"""Rows as lines of text that mean the same whichever database they came from."""

from __future__ import annotations

import base64
import hashlib
import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any, NamedTuple

from sqlalchemy import (
    Boolean,
    Connection,
    Date,
    DateTime,
    Float,
    Integer,
    LargeBinary,
    MetaData,
    Numeric,
    String,
    Table,
    insert,
    select,
)

from rootbound_service.errors import ServiceError
from rootbound_service.store.risk_months import months_there

BATCH = 200
"""Rows in memory at a time: a photo or past years of weather may be a megabyte."""
KINDS = (
    (Boolean, "boolean"),
    (DateTime, "moment"),
    (Date, "date"),
    (Integer, "integer"),
    (Float, "number"),
    (Numeric, "number"),
    (LargeBinary, "bytes"),
    (String, "text"),
)


class Count(NamedTuple):
    """How many rows there are and what they come to, in whatever order they stand."""

    rows: int
    checksum: str


class Tally:
    """Counts lines and sums their SHA-256, so that no database's order of text matters."""

    def __init__(self) -> None:
        self._rows, self._sum = 0, 0

    def add(self, line: bytes) -> None:
        """Count one line."""
        self._rows += 1
        self._sum += int.from_bytes(hashlib.sha256(line).digest())

    def count(self) -> Count:
        """Tell what it comes to so far."""
        return Count(self._rows, f"{self._sum % 2**256:064x}")


def tables_there(conn: Connection, only: Iterable[str] | None = None) -> dict[str, Table]:
    """Look at the tables as the database has them, those that others refer to first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    only
        Names that count; None: all but the list of migrations.
    """
    seen, parts = MetaData(), months_there(conn)  # a partition's rows are its table's
    seen.reflect(conn, only=lambda name, _: name not in parts)
    wanted = set(seen.tables) if only is None else set(only)
    return {
        one.name: one
        for one in seen.sorted_tables
        if one.name in wanted and one.name != "alembic_version"
    }


def kinds_of(table: Table) -> dict[str, str]:
    """Give the kind of every column by its name, in the table's order."""
    return {one.name: _kind(one.type) for one in table.columns}


def lines_of(
    conn: Connection, table: Table, columns: Mapping[str, str] | None = None
) -> Iterator[bytes]:
    """Read every row as a line, in the order of the primary key.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    table
        As :func:`tables_there` found it.
    columns
        Kinds by name in the order wanted; None: as the table has them.

    Yields
    ------
    bytes
        A JSON array and an end of line.
    """
    wanted = kinds_of(table) if columns is None else columns
    pack = [PACK[kind] for kind in wanted.values()]
    rows = select(*(table.c[name] for name in wanted)).order_by(*table.primary_key.columns)
    for row in conn.execute(rows, execution_options={"yield_per": BATCH}):
        cells = [None if cell is None else into(cell) for into, cell in zip(pack, row, strict=True)]
        yield json.dumps(cells, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def values_of(line: bytes, columns: Mapping[str, str]) -> dict[str, Any]:
    """Give a line back as values by the column's name.

    Parameters
    ----------
    line
        As :func:`lines_of` wrote it.
    columns
        Kinds by name, in the line's order.

    Raises
    ------
    ValueError
        If the line is no row of these columns.
    """
    cells: Sequence[Any] = json.loads(line)
    return {
        name: None if cell is None else UNPACK[kind](cell)
        for (name, kind), cell in zip(columns.items(), cells, strict=True)
    }


def put_rows(conn: Connection, table: Table, rows: Iterable[dict[str, Any]]) -> None:
    """Put rows into a table, a batch at a time.

    Parameters
    ----------
    conn
        The caller's transaction.
    table
        As :func:`tables_there` found it.
    rows
        Values by the column's name.
    """
    batch: list[dict[str, Any]] = []
    for row in rows:
        batch.append(row)
        if len(batch) == BATCH:
            conn.execute(insert(table), batch)
            batch = []
    if batch:
        conn.execute(insert(table), batch)


def count_rows(conn: Connection, table: Table, columns: Mapping[str, str] | None = None) -> Count:
    """Count a table's rows as they stand, with what they come to as lines of these columns."""
    tally = Tally()
    for line in lines_of(conn, table, columns):
        tally.add(line)
    return tally.count()


def _kind(of: object) -> str:
    found = next((name for kind, name in KINDS if isinstance(of, kind)), None)
    if found is None:
        message = f"there is no way yet to keep a column of the kind {of}"
        raise ServiceError(message)
    return found


def _moment(value: datetime) -> str:
    aware = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
    return aware.isoformat(timespec="microseconds")


def _number(value: float) -> float | str:
    return float(value) if math.isfinite(value) else str(float(value))


def _same(value: Any) -> Any:
    return value


PACK: dict[str, Callable[[Any], Any]] = {
    "boolean": bool,
    "moment": _moment,
    "date": date.isoformat,
    "integer": int,
    "number": _number,
    "bytes": lambda value: base64.b64encode(value).decode("ascii"),
    "text": _same,
}
UNPACK: dict[str, Callable[[Any], Any]] = {
    "boolean": bool,
    "moment": datetime.fromisoformat,
    "date": date.fromisoformat,
    "integer": int,
    "number": float,
    "bytes": lambda value: base64.b64decode(value, validate=True),
    "text": _same,
}
