"""One database read as it stood at one moment, while nobody writes to it if so wished."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import OperationalError

from rootbound_service.errors import ServiceError
from rootbound_service.store.moving_tables import Portable

WAIT = "10s"
"""How long PostgreSQL waits for those who write; SQLite waits as its engine says."""
BUSY = "somebody writes to the old database; stop the service and begin again"


@contextmanager
def snapshot(
    engine: Engine, tables: Sequence[Portable], *, alone: bool = False
) -> Generator[Connection]:
    """Open a transaction in which every reading sees the same moment; it is rolled back.

    Parameters
    ----------
    engine
        The database.
    tables
        All of them.
    alone
        Keep writers out until it ends; readers stay.

    Yields
    ------
    Connection
        To read from.

    Raises
    ------
    ServiceError
        If somebody writes to the database and does not come to an end.
    """
    lite = engine.dialect.name == "sqlite"
    options = {"ro": not alone} if lite else {"isolation_level": "REPEATABLE READ"}
    with engine.connect().execution_options(**options) as conn:
        try:
            transaction = conn.begin()
            if not lite:
                _prepare(conn, tables, alone=alone)
        except OperationalError as error:
            raise ServiceError(BUSY) from error
        try:
            yield conn
        finally:
            transaction.rollback()


def _prepare(conn: Connection, tables: Sequence[Portable], *, alone: bool) -> None:
    """Lock before the first query: the moment that is read begins with that."""
    conn.execute(text("SET LOCAL TIME ZONE 'UTC'"))
    conn.execute(text(f"SET LOCAL lock_timeout = '{WAIT}'"))
    if alone:
        names = ", ".join(f'"{one.name}"' for one in tables)
        conn.execute(text(f"LOCK TABLE {names} IN SHARE MODE"))
    else:
        conn.execute(text("SET TRANSACTION READ ONLY"))
