"""Bring a database's tables up to date with the code."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, func, inspect, select, text

from rootbound_service.errors import ServiceError
from rootbound_service.store.migrations import HEAD

FOLDER = Path(__file__).with_name("migrations")
LOCK = 7_266_823
"""Our number among PostgreSQL's advisory locks: one process migrates, the others wait."""


def revision_of(engine: Engine) -> str | None:
    """Tell which migration a database is at.

    Parameters
    ----------
    engine
        The database.

    Returns
    -------
    str or None
        The revision's name; None for a database without our tables.
    """
    with engine.execution_options(ro=True).connect() as conn:
        if not inspect(conn).has_table("alembic_version"):
            return None
        revision: str | None = conn.scalar(text("SELECT version_num FROM alembic_version"))
        return revision


def migrate(engine: Engine) -> None:
    """Bring the tables up to date, in one transaction; does nothing if they are.

    Parameters
    ----------
    engine
        The database, made by ``make_engine``.

    Raises
    ------
    ServiceError
        If the database was made by a newer version than this.
    """
    if revision_of(engine) == HEAD:
        return
    with engine.connect() as conn:
        _foreign_keys(conn, on=False)
        try:
            with conn.begin():
                _upgrade(conn)
        finally:
            _foreign_keys(conn, on=True)


def _foreign_keys(conn: Connection, *, on: bool) -> None:
    """Switch SQLite's foreign keys outside any transaction.

    A migration that rebuilds a table drops the old one, which would delete what points
    at it; _upgrade checks all keys at the end instead.
    """
    if conn.dialect.name == "sqlite":
        cursor = conn.connection.cursor()
        cursor.execute(f"PRAGMA foreign_keys={'ON' if on else 'OFF'}")
        cursor.close()


def _upgrade(conn: Connection) -> None:
    # here, not above: half a second that a database already up to date need not pay
    from alembic import command
    from alembic.config import Config
    from alembic.util import CommandError

    if conn.dialect.name == "postgresql":
        conn.execute(select(func.pg_advisory_xact_lock(LOCK)))
    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.attributes["connection"] = conn
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        message = f"this version of Rootbound cannot migrate the database to {HEAD}: {error}"
        raise ServiceError(message) from error
    if conn.dialect.name == "sqlite" and conn.execute(text("PRAGMA foreign_key_check")).first():
        message = "the migration would leave rows that point at nothing; nothing was changed"
        raise ServiceError(message)
