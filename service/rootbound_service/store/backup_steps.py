"""Walk the migrations to a named step, within a transaction of the caller's."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, func, select

from rootbound_service.store.migrate import FOLDER, LOCK

if TYPE_CHECKING:
    from alembic.config import Config


@lru_cache(maxsize=1)
def steps_known() -> frozenset[str]:
    """Give the names of all steps that this version can walk."""
    from alembic.script import ScriptDirectory

    return frozenset(one.revision for one in ScriptDirectory(str(FOLDER)).walk_revisions())


def walk_to(conn: Connection, step: str) -> None:
    """Bring the tables to a step.

    Parameters
    ----------
    conn
        The caller's transaction, of :func:`one_writer`.
    step
        One of :func:`steps_known`, not behind where the tables are.
    """
    from alembic import command

    command.upgrade(_config(conn), step)


@contextmanager
def one_writer(engine: Engine) -> Generator[Connection]:
    """Hold a transaction in which tables may be made anew; nobody else migrates meanwhile.

    Parameters
    ----------
    engine
        The database.

    Yields
    ------
    Connection
        Committed at the block's end, rolled back where it raises. SQLite does not look at
        foreign keys within it: look at the end.
    """
    with engine.connect() as conn:
        _foreign_keys(conn, on=False)
        try:
            with conn.begin():
                if conn.dialect.name == "postgresql":
                    conn.execute(select(func.pg_advisory_xact_lock(LOCK)))
                yield conn
        finally:
            _foreign_keys(conn, on=True)


def _foreign_keys(conn: Connection, *, on: bool) -> None:
    """Switch SQLite's foreign keys outside any transaction: within one it does nothing."""
    if conn.dialect.name == "sqlite":
        cursor = conn.connection.cursor()
        cursor.execute(f"PRAGMA foreign_keys={'ON' if on else 'OFF'}")
        cursor.close()


def _config(conn: Connection) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.attributes["connection"] = conn
    return config
