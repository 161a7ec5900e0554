"""Which SQLite to use: the system's, or a packaged one where the system's may corrupt a WAL.

SQLite 3.7.0 to 3.51.2 can lose pages when a write-ahead log is reset while another
process writes; mended in 3.51.3 and, backported, in 3.44.6 and 3.50.7.
"""

from __future__ import annotations

import importlib
import sqlite3
from dataclasses import dataclass
from types import ModuleType

FIRST_AFFECTED = (3, 7, 0)
FIRST_MENDED = (3, 51, 3)
BACKPORTS = ((3, 44, 6), (3, 50, 7))


@dataclass(frozen=True, slots=True)
class SqliteChoice:
    """The module to open SQLite files with, and whether its write-ahead log is safe."""

    module: ModuleType
    wal: bool


def wal_is_unsafe(version: tuple[int, ...]) -> bool:
    """Tell whether a version of SQLite has the WAL-reset bug.

    Parameters
    ----------
    version
        As in ``sqlite3.sqlite_version_info``.

    Returns
    -------
    bool
        True if a write-ahead log should not be used with it.
    """
    for backport in BACKPORTS:
        if version[:2] == backport[:2]:
            return version < backport
    return FIRST_AFFECTED <= version < FIRST_MENDED


def choose_sqlite(system: ModuleType = sqlite3, packaged_name: str = "pysqlite3") -> SqliteChoice:
    """Choose the module to open SQLite files with.

    Parameters
    ----------
    system
        The module that comes with Python.
    packaged_name
        Name of a module with the same interface and an SQLite of its own.

    Returns
    -------
    SqliteChoice
        The system's if its write-ahead log is safe, else the packaged one if that is
        there and safe, else the system's without the log.
    """
    if not wal_is_unsafe(system.sqlite_version_info):
        return SqliteChoice(system, wal=True)
    try:
        packaged = importlib.import_module(packaged_name)
    except ImportError:
        return SqliteChoice(system, wal=False)
    if wal_is_unsafe(packaged.sqlite_version_info):
        return SqliteChoice(system, wal=False)
    return SqliteChoice(packaged, wal=True)
