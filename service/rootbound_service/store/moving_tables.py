"""Every table in the order it can be filled, and its rows as both databases can hold them."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    Column,
    Connection,
    LargeBinary,
    MetaData,
    Row,
    Table,
    Text,
    func,
    inspect,
    select,
)

from rootbound_service.store.portable import PortableJSON
from rootbound_service.store.schema import metadata

AT_ONCE, AT_ONCE_BINARY = 1000, 50
"""Rows read at once; fewer where a row may hold a photo."""


@dataclass(frozen=True, slots=True)
class Pointing:
    """A row of a table, by SQLite's own number, that points at a row that is not there."""

    table: str
    row: int | None
    target: str


Rows = Sequence[Row[Any]]


@dataclass(frozen=True, slots=True)
class Portable:
    """A table whose JSON is its text: what was NULL and what was ``null`` stay apart."""

    table: Table
    at_once: int

    @property
    def name(self) -> str:
        """Of the table."""
        return self.table.name


def tables_in_order(described: MetaData = metadata) -> list[Portable]:
    """Give every table after those it points at.

    Parameters
    ----------
    described
        What describes the tables.
    """
    return [_portable(table) for table in described.sorted_tables]


def _portable(table: Table) -> Portable:
    columns = [
        Column(
            one.name,
            Text() if isinstance(one.type, PortableJSON) else one.type,
            primary_key=one.primary_key,
            autoincrement=False,
        )
        for one in table.columns
    ]
    binary = any(isinstance(one.type, LargeBinary) for one in columns)
    return Portable(Table(table.name, MetaData(), *columns), AT_ONCE_BINARY if binary else AT_ONCE)


def batches_of(conn: Connection, one: Portable) -> Generator[Rows]:
    """Read a table piece by piece.

    Parameters
    ----------
    conn
        A transaction that keeps one snapshot.
    one
        The table.

    Yields
    ------
    sequence of Row
        At most ``one.at_once`` rows, in no order.
    """
    query = select(one.table).execution_options(yield_per=one.at_once)
    with conn.execute(query) as found:
        yield from found.partitions()


def count_of(conn: Connection, one: Portable) -> int:
    """Count a table's rows.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    one
        The table.
    """
    return conn.scalar(select(func.count()).select_from(one.table)) or 0


def first_with_rows(conn: Connection, tables: Sequence[Portable]) -> str | None:
    """Name the first table that has rows; None if there is none, or no table at all.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    tables
        Those to look into, where they are there.
    """
    there = set(inspect(conn).get_table_names())
    for one in tables:
        keys = list(one.table.primary_key.columns)
        if one.name in there and conn.execute(select(*keys).limit(1)).first() is not None:
            return one.name
    return None


def pointing_at_nothing(conn: Connection) -> list[Pointing]:
    """Find the rows of an SQLite database that point at nothing; PostgreSQL allows none.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    if conn.dialect.name != "sqlite":
        return []
    found = conn.exec_driver_sql("PRAGMA foreign_key_check")
    return [Pointing(table, row, target) for table, row, target, _ in found]
