"""Whether the database is one the service can rely on: its version, its tables, its log."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import text

from rootbound_service.notes.en.quantities import count
from rootbound_service.public.finding import Finding
from rootbound_service.store.migrate import FOLDER, revision_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Engine

OLDEST = (3, 35, 0)
"""The first SQLite with RETURNING and with ALTER TABLE ... DROP COLUMN."""
TABLES, LOG, KEYS = "tables", "SQLite's log", "rows"
BACKUP = "stop every rootbound process, then go back to the latest backup"


@dataclass(frozen=True, slots=True)
class SqliteFacts:
    """What an SQLite database says of itself."""

    version: tuple[int, ...]
    journal: str
    """Its journal mode, as the pragma says it."""
    safe_log: bool
    """Whether this version's write-ahead log may be used."""
    loose: int = 0
    """Rows that point at nothing."""
    page_fault: str = ""
    """What a quick look at the file found wrong; empty: nothing."""


def steps() -> list[str]:
    """Give the names of all migrations this program knows, oldest first."""
    return sorted(path.stem for path in (FOLDER / "versions").glob("0*.py"))


def check_tables(revision: str | None, known: Sequence[str], *, auto: bool) -> Finding:
    """Look whether the tables are those of this program.

    Parameters
    ----------
    revision
        Where the database is; None: it has no tables yet.
    known
        The migrations this program knows, oldest first.
    auto
        Whether a start may make or change them.
    """
    if revision == known[-1]:
        return Finding(TABLES, well=True, said=f"up to date ({revision})")
    if revision is not None and revision not in known:
        return Finding(
            TABLES,
            well=False,
            said=f"made by a newer version of this program ({revision})",
            why=f"this one knows them up to {known[-1]} and would spoil what it does not know",
            mend="install the newer version again, or go back to the backup made before it",
        )
    if revision is None and auto:
        return Finding(TABLES, well=True, said="not made yet; the next start makes them")
    run = f"{'' if auto else 'ROOTBOUND_AUTO_MIGRATE=true '}rootbound fields"
    said, mend = "not made yet, and ROOTBOUND_AUTO_MIGRATE is off", "let a command make them"
    if revision is not None:
        behind = len(known) - 1 - known.index(revision)
        said = f"{count(behind, 'step')} behind this program ({revision})"
        mend = "make a backup; then any command brings them up to date"
    why = "no night can be computed before"
    return Finding(TABLES, well=False, said=said, mend=mend, why=why, run=run)


def check_sqlite(facts: SqliteFacts) -> list[Finding]:
    """Look at an SQLite database.

    Parameters
    ----------
    facts
        What it says of itself.
    """
    return [_version(facts.version), _log(facts), _rows(facts)]


def look_at_tables(engine: Engine, *, auto: bool) -> Finding:
    """Look at a database before it is opened for use; nothing is changed or made.

    Parameters
    ----------
    engine
        The database.
    auto
        Whether a start may make or change its tables.
    """
    names = steps()
    path = engine.url.database or ""
    if engine.dialect.name == "sqlite" and not Path(path).exists():
        return check_tables(None, names, auto=auto)
    return check_tables(revision_of(engine), names, auto=auto)


def look_at_sqlite(engine: Engine, *, safe_log: bool) -> list[Finding]:
    """Read what an SQLite database says of itself, and look at it.

    Parameters
    ----------
    engine
        The database; of another kind nothing is found.
    safe_log
        Whether the write-ahead log of the SQLite in use may be trusted.
    """
    if engine.dialect.name != "sqlite":
        return []
    with engine.execution_options(ro=True).connect() as conn:
        version: str = conn.execute(text("SELECT sqlite_version()")).scalar_one()
        journal: str = conn.execute(text("PRAGMA journal_mode")).scalar_one()
        loose = len(conn.execute(text("PRAGMA foreign_key_check")).all())
        fault: str = conn.execute(text("PRAGMA quick_check(1)")).scalar_one()
    numbers = tuple(int(part) for part in version.split("."))
    return check_sqlite(
        SqliteFacts(numbers, journal, safe_log, loose, "" if fault == "ok" else fault)
    )


def _version(version: tuple[int, ...]) -> Finding:
    said = ".".join(map(str, version))
    if version >= OLDEST:
        return Finding("SQLite", well=True, said=said)
    return Finding(
        "SQLite",
        well=False,
        said=f"{said} is too old; 3.35 is needed",
        why="older ones know no RETURNING: nothing can be stored",
        mend="take a newer one as a package of Python's, or PostgreSQL",
        run="pip install pysqlite3",
    )


def _log(facts: SqliteFacts) -> Finding:
    if not facts.safe_log:
        said = f"{facts.journal}; this version's write-ahead log can lose pages, so it is not used"
        return Finding(LOG, well=True, said=said)
    if facts.journal == "wal":
        return Finding(LOG, well=True, said="write-ahead")
    return Finding(
        LOG,
        well=False,
        said=f"{facts.journal} instead of write-ahead",
        why="pages wait while a night is written; mostly the disk cannot share memory",
        mend="put the database on a disk of this machine; on a server use PostgreSQL",
    )


def _rows(facts: SqliteFacts) -> Finding:
    if facts.page_fault:
        said = "the file of the database is damaged"
        why = "what is read from it may be wrong, and it gets worse with each write"
        return Finding(KEYS, well=False, said=said, why=why, mend=BACKUP)
    if facts.loose:
        said = f"{count(facts.loose, 'row')} whose owner is gone"
        why = "fields or notes can be missing from pages and letters"
        return Finding(KEYS, well=False, said=said, why=why, mend=BACKUP)
    return Finding(KEYS, well=True, said="whole, and each has its owner")
