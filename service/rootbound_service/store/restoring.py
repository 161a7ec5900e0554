"""A backup put into an empty place, of either database, in one transaction; or only checked."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import (
    URL,
    Connection,
    Engine,
    Exists,
    Table,
    exists,
    literal,
    select,
    text,
)
from sqlalchemy.exc import SQLAlchemyError

from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.store.backup_archive import ANOTHER, Archive
from rootbound_service.store.backup_check import check
from rootbound_service.store.backup_files import refuse_taken, unpacked
from rootbound_service.store.backup_held import hold_waiting
from rootbound_service.store.backup_manifest import Manifest, TableKept
from rootbound_service.store.backup_rows import (
    count_rows,
    kinds_of,
    put_rows,
    tables_there,
    values_of,
)
from rootbound_service.store.backup_steps import one_writer, steps_known, walk_to
from rootbound_service.store.engine import make_engine
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.numbers import count_on
from rootbound_service.store.risk_months import with_room
from rootbound_service.store.schema import metadata, risk

EMPTY = "restore to an empty database, or move this one away first"


@dataclass(frozen=True, slots=True)
class Restored:
    """What came of a restore: what the backup said of itself, and how many messages are held."""

    manifest: Manifest
    held: int


def restore(engine: Engine, archive: Archive, data_dir: Path, *, send: bool = False) -> Restored:
    """Put a backup into an empty database and data folder; whatever goes wrong, nothing stays.

    Every checksum is held against its file before anything is touched, and against the rows
    as the database gives them back before anything is committed. An older backup is migrated.

    Parameters
    ----------
    engine
        A database without tables of ours, or with none but empty ones.
    archive
        The backup.
    data_dir
        Where the kept folders go.
    send
        Let messages that waited go out; otherwise they are held.

    Raises
    ------
    RefusedInput
        If the backup is damaged or of a newer version, or the place is not empty.
    ServiceError
        If the database or the disk would not take it.
    """
    _refuse_newer(archive)
    check(archive)
    refuse_taken(archive, data_dir)
    fresh = _file_to_come(engine)
    try:
        with unpacked(archive, data_dir) as name_folders, one_writer(engine) as conn:
            held = _fill(conn, archive, send=send)
            name_folders()
    except (OSError, SQLAlchemyError) as error:
        _forget(engine, fresh)
        why = str(getattr(error, "orig", None) or error).splitlines()[0]
        message = f"{archive.place}: it could not be restored ({why}); nothing was changed"
        raise ServiceError(message) from error
    except BaseException:
        _forget(engine, fresh)
        raise
    return Restored(archive.manifest, held)


def verify(archive: Archive) -> Restored:
    """Check a backup by restoring it to a database that is thrown away.

    Parameters
    ----------
    archive
        The backup.

    Raises
    ------
    RefusedInput, ServiceError
        As :func:`restore`.
    """
    with tempfile.TemporaryDirectory(prefix="rootbound-verify-") as folder:
        url = URL.create("sqlite", database=str(Path(folder) / "verify.db"))
        engine = make_engine(url.render_as_string(hide_password=False))
        try:
            return restore(engine, archive, Path(folder) / "data")
        finally:
            engine.dispose()


def _refuse_newer(archive: Archive) -> None:
    step = archive.manifest.revision
    if step not in steps_known():
        what = f"its tables are of step {step}, which this version does not know"
        wanted = f"restore with a newer version of Rootbound; this one goes up to {HEAD}"
        raise RefusedInput((Problem(str(archive.place), what, wanted),))


def _fill(conn: Connection, archive: Archive, *, send: bool) -> int:
    """Make the tables as they were, put the rows in, compare, migrate; how many are held."""
    _make_room(conn)
    walk_to(conn, archive.manifest.revision)
    tables = tables_there(conn)
    for table in reversed(tables.values()):
        conn.execute(table.delete())  # what a step may have put there; the backup has its own
    for kept in archive.manifest.tables:
        _put(conn, archive, kept, tables.get(kept.name))
    _refuse_dangling(conn, archive)
    walk_to(conn, HEAD)
    _refuse_dangling(conn, archive)
    if conn.dialect.name == "postgresql":
        count_on(conn, tables_there(conn).values())
    return 0 if send else hold_waiting(conn, archive.manifest.taken_at)


def _make_room(conn: Connection) -> None:
    """Drop tables of ours that hold nothing; refuse where one does, or where others' are."""
    there = tables_there(conn)
    if others := sorted(set(there) - set(metadata.tables)):
        what = f"it has tables that are not ours: {', '.join(others)}"
        raise RefusedInput((Problem("the database", what, EMPTY),))
    full = [name for name, one in there.items() if conn.scalar(select(_any(one)))]
    if full:
        what = f"it is not empty: there are rows in {', '.join(sorted(full))}"
        raise RefusedInput((Problem("the database", what, EMPTY),))
    for table in reversed(there.values()):
        table.drop(conn)
    conn.execute(text("DROP TABLE IF EXISTS alembic_version"))


def _any(table: Table) -> Exists:
    return exists(select(literal(1)).select_from(table))


def _put(conn: Connection, archive: Archive, kept: TableKept, table: Table | None) -> None:
    """Put a table's rows in and read them back."""
    where = f"{archive.place}: {kept.file}"
    if table is None or set(kinds_of(table)) != set(kept.columns):
        what = f"its columns are not those of step {archive.manifest.revision}"
        raise RefusedInput((Problem(where, what, ANOTHER),))
    rows = (values_of(one, kept.columns) for one in archive.lines(kept))
    put_rows(conn, table, with_room(conn, rows) if table.name == risk.name else rows)
    if count_rows(conn, table, kept.columns) != (kept.rows, kept.checksum):
        message = f"{where}: the database gave other rows back than were put in"
        raise ServiceError(message)


def _refuse_dangling(conn: Connection, archive: Archive) -> None:
    """Refuse rows that point at nothing; PostgreSQL has refused them one by one."""
    if conn.dialect.name != "sqlite":
        return
    bad = conn.execute(text("PRAGMA foreign_key_check")).first()
    if bad is not None:
        what = f"row {bad[1]} of {bad[0]} points at a row of {bad[2]} that is not there"
        raise RefusedInput((Problem(str(archive.place), what, ANOTHER),))


def _file_to_come(engine: Engine) -> Path | None:
    """The file that SQLite will make, or None where it is there or on a server."""
    name = engine.url.database if engine.dialect.name == "sqlite" else None
    return Path(name) if name is not None and not Path(name).exists() else None


def _forget(engine: Engine, fresh: Path | None) -> None:
    """Take away the empty file that a failed restore began."""
    if fresh is not None:
        engine.dispose()
        for end in ("", "-journal", "-wal", "-shm"):
            fresh.with_name(fresh.name + end).unlink(missing_ok=True)
