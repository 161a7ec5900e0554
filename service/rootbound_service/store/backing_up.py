"""A backup: every table as of one moment, and files of the data folder, checksums beside them."""

from __future__ import annotations

import gzip
import sqlite3
from collections.abc import Generator, Iterable, Mapping
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

from sqlalchemy import URL, Connection, Engine

from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.store.backup_folder import beside, copy_folder, files_of, finish
from rootbound_service.store.backup_manifest import FILES, FORMAT, TABLES, Manifest, TableKept
from rootbound_service.store.backup_rows import Tally, kinds_of, lines_of, tables_there
from rootbound_service.store.engine import make_engine
from rootbound_service.store.migrate import revision_of
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.schema import metadata
from rootbound_service.store.sqlite_module import choose_sqlite


def back_up(
    engine: Engine,
    to: Path,
    now: datetime,
    data_dir: Path,
    folders: Iterable[str] = (),
    lying: Mapping[str, Path] | None = None,
) -> Manifest:
    """Write a backup beside its place and put it there when it is whole.

    Everything else may go on: the tables are read as of one moment.

    Parameters
    ----------
    engine
        The database; it is not migrated.
    to
        A folder that is made, or one file if the name ends in ``.tar``.
    now
        The time.
    data_dir
        The data folder.
    folders
        Which of its folders are kept as well; one that is not there is left out.
    lying
        Where those of them lie that are not in the data folder.

    Raises
    ------
    RefusedInput
        If the place is taken, or the database is not there.
    ServiceError
        If the disk would not take it; nothing is left then.
    """
    revision = _revision(engine)
    if to.exists() or to.is_symlink():
        raise RefusedInput((Problem(str(to), "something is there already", "give a new name"),))
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        with beside(to) as work:
            whole = work / "whole"
            whole.mkdir(mode=0o700)
            (whole / TABLES).mkdir()
            with _one_moment(engine, work) as conn:
                tables = _write_tables(conn, whole, revision)
            places = {one: (lying or {}).get(one, data_dir / one) for one in folders}
            kept = [one for one, place in places.items() if place.is_dir()]
            for one in kept:
                copy_folder(places[one], whole / FILES / one)
            manifest = Manifest(
                FORMAT,
                now.astimezone(UTC),
                engine.dialect.name,
                revision,
                tuple(kept),
                tables,
                tuple(files_of(whole)),
            )
            finish(whole, manifest, to)
    except OSError as error:
        why = getattr(error, "strerror", None) or str(error)
        message = f"{to}: the backup could not be written ({why}); nothing was left there"
        raise ServiceError(message) from error
    return manifest


def _revision(engine: Engine) -> str:
    file = engine.url.database
    there = engine.dialect.name != "sqlite" or (file is not None and Path(file).exists())
    found = revision_of(engine) if there else None
    if found is None:
        what = "there are no tables of ours to back up"
        wanted = "name the service's database with --database, or its folder with --data-dir"
        raise RefusedInput((Problem("the database", what, wanted),))
    return found


@contextmanager
def _one_moment(engine: Engine, work: Path) -> Generator[Connection]:
    """Read as of one moment, without keeping anybody from writing for long.

    SQLite is copied first, in one step: while somebody reads it without a write-ahead log,
    nobody can commit.
    """
    if engine.dialect.name != "sqlite":
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        with engine.connect().execution_options(**options) as conn:
            yield conn
        return
    copy = work / "copy.db"
    module = choose_sqlite().module
    try:
        with closing(engine.raw_connection()) as source, closing(module.connect(copy)) as target:
            cast("sqlite3.Connection", source.driver_connection).backup(target)
    except module.OperationalError as error:  # a full disk, in SQLite's words
        raise OSError(str(error)) from error
    url = URL.create("sqlite", database=str(copy)).render_as_string(hide_password=False)
    copied = make_engine(url)
    try:
        with copied.execution_options(ro=True).connect() as conn:
            yield conn
    finally:
        copied.dispose()


def _write_tables(conn: Connection, whole: Path, revision: str) -> tuple[TableKept, ...]:
    """Write every table; of an older shape all there are, since we know only our own names."""
    only = metadata.tables if revision == HEAD else None
    kept: list[TableKept] = []
    for name, table in tables_there(conn, only).items():
        tally, columns = Tally(), kinds_of(table)
        path = whole / TableKept(name, columns, 0, "").file
        with path.open("wb") as raw, gzip.GzipFile("", "wb", fileobj=raw, mtime=0) as file:
            for line in lines_of(conn, table):
                file.write(line)
                tally.add(line)
        kept.append(TableKept(name, columns, *tally.count()))
    return tuple(kept)
