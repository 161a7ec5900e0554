"""What stands in a backup, said in its first file."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import cast

FORMAT = 1
MANIFEST, MANIFEST_SUM = "manifest.json", "manifest.sha256"
TABLES, FILES = "tables", "files"


@dataclass(frozen=True, slots=True)
class TableKept:
    """One table: its columns' kinds by name, how many rows, and what they come to."""

    name: str
    columns: dict[str, str]
    rows: int
    checksum: str

    @property
    def file(self) -> str:
        """Name of the file with its rows."""
        return f"{TABLES}/{self.name}.jsonl.gz"


@dataclass(frozen=True, slots=True)
class FileKept:
    """One file: its name within the backup, its size and its SHA-256."""

    name: str
    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """Everything a backup says of itself."""

    format: int
    taken_at: datetime
    database: str
    """The kind it came from; neither its place nor its password."""
    revision: str
    folders: tuple[str, ...]
    """Those of the data folder that are in it."""
    tables: tuple[TableKept, ...]
    """Those that others refer to first."""
    files: tuple[FileKept, ...]

    @property
    def rows(self) -> int:
        """How many rows there are in all."""
        return sum(one.rows for one in self.tables)

    def text(self) -> str:
        """Give it as the JSON that is written."""
        return json.dumps(asdict(self), default=str, ensure_ascii=False, indent=1) + "\n"


def manifest_of(text: str) -> Manifest:
    """Read a manifest.

    Parameters
    ----------
    text
        As it was written.

    Raises
    ------
    ValueError, KeyError, TypeError
        If it is none of this format.
    """
    told = json.loads(text)
    return Manifest(
        format=told["format"],
        taken_at=datetime.fromisoformat(told["taken_at"]),
        database=told["database"],
        revision=told["revision"],
        folders=tuple(told["folders"]),
        tables=tuple(TableKept(**one) for one in told["tables"]),
        files=tuple(FileKept(**one) for one in told["files"]),
    )


def format_of(text: str) -> object:
    """Tell which format a manifest says it has; None if it says nothing."""
    told: object = json.loads(text)
    return cast("dict[str, object]", told).get("format") if isinstance(told, dict) else None
