"""Rows put into the new database by its quickest way."""

from __future__ import annotations

from collections.abc import Generator, Iterable
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, insert, text
from sqlalchemy.exc import DBAPIError, OperationalError

from rootbound_service.errors import ServiceError
from rootbound_service.store.copying import copy_rows
from rootbound_service.store.moving_snapshot import WAIT
from rootbound_service.store.moving_tables import Portable, Rows, pointing_at_nothing
from rootbound_service.store.numbers import count_on
from rootbound_service.store.risk_months import room_for
from rootbound_service.store.schema import risk


class NotTaken(ServiceError):
    """The new database refuses rows of a table.

    Parameters
    ----------
    table
        Its name.
    said
        What the database answers; names no value.
    """

    def __init__(self, table: str, said: str) -> None:
        super().__init__(f"{table}: the new database does not take its rows: {said}")


def put_rows(conn: Connection, one: Portable, batches: Iterable[Rows]) -> None:
    """Put a whole table's rows in.

    On PostgreSQL one COPY takes all, in a third of the time of inserts. Keys are looked at when
    it ends, so that a row may stand before another of its table that it points at.

    Parameters
    ----------
    conn
        The transaction of the move, as ``filling`` gives it.
    one
        The table, empty.
    batches
        Its rows, in pieces.

    Raises
    ------
    NotTaken
        If the database refuses one.
    """
    if conn.dialect.name == "postgresql":
        _copy(conn, one, batches)
        return
    columns = [column.name for column in one.table.columns]
    try:
        for rows in batches:
            conn.execute(insert(one.table), [dict(zip(columns, row, strict=True)) for row in rows])
    except DBAPIError as error:
        raise NotTaken(one.name, str(error.orig).splitlines()[0]) from error


def _copy(conn: Connection, one: Portable, batches: Iterable[Rows]) -> None:
    import psycopg

    names = [column.name for column in one.table.columns]
    night = names.index("night") if one.name == risk.name else 0
    try:
        if one.name != risk.name:
            copy_rows(conn, one.name, names, (row for rows in batches for row in rows))
            return
        for rows in batches:  # a COPY each: a partition can only be made between two
            room_for(conn, {row[night] for row in rows})
            copy_rows(conn, one.name, names, rows)
    except psycopg.Error as error:
        said = error.diag.message_primary or str(error).splitlines()[0]
        raise NotTaken(one.name, said) from error


@contextmanager
def filling(engine: Engine, tables: Iterable[Portable]) -> Generator[Connection]:
    """Open the one transaction of a move; everybody else is kept out until it ends.

    Parameters
    ----------
    engine
        The new database, with its tables.
    tables
        All of them.

    Yields
    ------
    Connection
        Committed at the end, rolled back on any error.

    Raises
    ------
    ServiceError
        If somebody uses the database.
    """
    with engine.connect() as conn:
        try:
            transaction = conn.begin()
            _keep_out(conn, tables)
        except OperationalError as error:
            message = "somebody uses the new database; stop whatever runs on it and begin again"
            raise ServiceError(message) from error
        with transaction:
            yield conn


def _keep_out(conn: Connection, tables: Iterable[Portable]) -> None:
    if conn.dialect.name == "sqlite":  # where BEGIN has taken the write lock
        conn.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
        return
    names = ", ".join(f'"{one.name}"' for one in tables)
    conn.execute(text("SET LOCAL TIME ZONE 'UTC'"))
    conn.execute(text(f"SET LOCAL lock_timeout = '{WAIT}'"))  # a vacuum gives way within it
    conn.execute(text(f"LOCK TABLE {names} IN EXCLUSIVE MODE"))


def end_filling(conn: Connection, tables: Iterable[Portable]) -> None:
    """Let new numbers begin past those that came, and have PostgreSQL look at what it holds.

    Parameters
    ----------
    conn
        The transaction of the move.
    tables
        All of them, filled.

    Raises
    ------
    NotTaken
        If a row points at nothing; PostgreSQL has said so before.
    """
    if conn.dialect.name == "sqlite":
        for lost in pointing_at_nothing(conn):
            raise NotTaken(lost.table, f"row {lost.row} points at nothing in {lost.target}")
        return
    for one in tables:
        count_on(conn, [one.table])
        conn.execute(text(f'ANALYZE "{one.name}"'))
