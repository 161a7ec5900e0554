"""Every file and every row of a backup held against what its manifest says of it."""

from __future__ import annotations

import hashlib
from pathlib import PurePosixPath

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.store.backup_archive import BROKEN, PIECE, Archive
from rootbound_service.store.backup_manifest import MANIFEST, FileKept, TableKept
from rootbound_service.store.backup_rows import Tally, values_of


def check(archive: Archive) -> None:
    """Hold every file and every row of a backup against its manifest.

    Parameters
    ----------
    archive
        The backup.

    Raises
    ------
    RefusedInput
        With one problem for each file that is missing or damaged.
    """
    files = {one.name for one in archive.manifest.files}
    problems = [found for one in archive.manifest.files if (found := _wrong_file(archive, one))]
    problems += [
        archive.problem(one.file, "the manifest has no checksum of it")
        for one in archive.manifest.tables
        if one.file not in files
    ]
    problems += [
        archive.problem(MANIFEST, f"{one!r} is no name of a folder")
        for one in archive.manifest.folders
        if one in {"", ".", ".."} or "/" in one or "\\" in one
    ]
    if not problems:
        problems = [
            found for one in archive.manifest.tables if (found := _wrong_rows(archive, one))
        ]
    if problems:
        raise RefusedInput(tuple(problems))


def _wrong_file(archive: Archive, kept: FileKept) -> Problem | None:
    if PurePosixPath(kept.name).is_absolute() or ".." in PurePosixPath(kept.name).parts:
        return archive.problem(kept.name, "its name leads out of the backup")
    try:
        with archive.open(kept.name) as file:
            size, digest = 0, hashlib.sha256()
            while piece := file.read(PIECE):
                size += len(piece)
                digest.update(piece)
    except (KeyError, FileNotFoundError):
        return archive.problem(kept.name, "it is missing")
    except BROKEN as error:
        return archive.problem(kept.name, f"it cannot be read ({type(error).__name__})")
    if size != kept.size:
        return archive.problem(kept.name, f"it has {size} bytes where {kept.size} were written")
    if digest.hexdigest() != kept.sha256:
        return archive.problem(kept.name, "its checksum is not that of the manifest")
    return None


def _wrong_rows(archive: Archive, table: TableKept) -> Problem | None:
    tally = Tally()
    try:
        for line in archive.lines(table):
            values_of(line, table.columns)
            tally.add(line)
    except BROKEN as error:
        return archive.problem(table.file, f"its rows cannot be read ({type(error).__name__})")
    count = tally.count()
    if count.rows != table.rows:
        return archive.problem(
            table.file, f"it has {count.rows} rows where the manifest says {table.rows}"
        )
    if count.checksum != table.checksum:
        return archive.problem(table.file, "its rows do not come to the manifest's checksum")
    return None
