"""One process leads: a lock that goes with whoever holds it, however it ends.

PostgreSQL: an advisory lock of a connection of its own, which the server lets go when the
connection is lost. SQLite: a lock on a file beside the database, which the kernel lets go when
the process ends; all processes of an SQLite database are on one machine.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Lock
from typing import Protocol

from sqlalchemy import Connection, Engine, func, select, text
from sqlalchemy.exc import SQLAlchemyError

LEAD = 7_266_825
"""Our number among PostgreSQL's advisory locks; the second tells services in two schemas apart."""
_KEY = (LEAD, func.hashtext(func.current_schema()))
TCP = ("keepalives_idle = 30", "keepalives_interval = 10", "keepalives_count = 3")
"""A holder whose machine went away without a word is found out within a minute. [s]"""


class Lead(Protocol):
    """What a leader holds."""

    def holds(self) -> bool:
        """Tell whether it is still ours, by asking, from any thread; once lost it stays lost."""
        ...

    def give_up(self) -> None:
        """Let somebody else have it; harmless where it is lost."""
        ...


def try_lead(engine: Engine) -> Lead | None:
    """Take the lead of a database if nobody has it.

    Parameters
    ----------
    engine
        The database.

    Returns
    -------
    Lead or None
        None while another process, or another taker in this one, has it.

    Raises
    ------
    SQLAlchemyError
        If PostgreSQL cannot be reached.
    OSError
        If the file beside an SQLite database cannot be made.
    """
    return _by_file(engine) if engine.dialect.name == "sqlite" else _by_server(engine)


@contextmanager
def leading(engine: Engine) -> Generator[Lead | None]:
    """Hold the lead for a while, if nobody else has it.

    Parameters
    ----------
    engine
        The database.

    Yields
    ------
    Lead or None
        None if somebody else leads.
    """
    lead = try_lead(engine)
    try:
        yield lead
    finally:
        if lead is not None:
            lead.give_up()


class _FileLead:
    def __init__(self, path: Path, handle: int) -> None:
        self._path, self._handle = path, handle
        self._lost = False

    def holds(self) -> bool:
        """It is lost only if somebody took the file away: the next would lock another."""
        if not self._lost:
            try:
                self._lost = not os.path.samestat(self._path.stat(), os.fstat(self._handle))
            except OSError:
                self._lost = True
        return not self._lost

    def give_up(self) -> None:
        self._lost = True
        with suppress(OSError):
            os.close(self._handle)


class _ServerLead:
    def __init__(self, conn: Connection) -> None:
        self._conn = conn
        self._lost = False
        self._one = Lock()

    def holds(self) -> bool:
        """The server keeps the lock as long as the connection: an answer is proof."""
        with self._one:  # every tick asks from a thread of its own
            if not self._lost:
                try:
                    self._lost = self._conn.scalar(select(1)) != 1
                except SQLAlchemyError:
                    self._lost = True
            return not self._lost

    def give_up(self) -> None:
        with self._one, suppress(SQLAlchemyError):
            if not self._lost:  # the server sees a little late that a connection was closed
                self._conn.execute(select(func.pg_advisory_unlock(*_KEY)))
        self.let_go()

    def let_go(self) -> None:
        """Close the connection, whether it has the lock or not."""
        self._lost = True
        with suppress(SQLAlchemyError):
            self._conn.invalidate()  # closed, not put back: nobody may find the lock in the pool
        with suppress(SQLAlchemyError):
            self._conn.close()


def _by_file(engine: Engine) -> Lead | None:
    path = Path(f"{engine.url.database}.lead")
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        return None
    lead = _FileLead(path, handle)
    if lead.holds():
        return lead
    lead.give_up()  # the file was taken away between opening and locking it
    return None


def _by_server(engine: Engine) -> Lead | None:
    conn = engine.connect().execution_options(isolation_level="AUTOCOMMIT")
    lead = _ServerLead(conn)
    try:
        for setting in TCP:
            conn.execute(text(f"SET tcp_{setting}"))
        if conn.scalar(select(func.pg_try_advisory_lock(*_KEY))):
            return lead
    except SQLAlchemyError:
        lead.let_go()
        raise
    lead.let_go()
    return None
