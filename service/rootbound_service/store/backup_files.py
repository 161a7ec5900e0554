"""Folders of a backup put into a data folder: all of them or none."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.store.backup_archive import ANOTHER, PIECE, Archive
from rootbound_service.store.backup_manifest import FILES, FileKept


def refuse_taken(archive: Archive, data_dir: Path) -> None:
    """Refuse a data folder in which one of the backup's folders holds something.

    Parameters
    ----------
    archive
        The backup.
    data_dir
        Where its folders would go.

    Raises
    ------
    RefusedInput
        With one problem for each folder that is not empty.
    """
    taken = [
        Problem(str(data_dir / one), "this folder is not empty", "restore to an empty place")
        for one in archive.manifest.folders
        if (data_dir / one).exists() and any((data_dir / one).iterdir())
    ]
    if taken:
        raise RefusedInput(tuple(taken))


@contextmanager
def unpacked(archive: Archive, data_dir: Path) -> Generator[Callable[[], None]]:
    """Write the backup's folders beside their place.

    Parameters
    ----------
    archive
        The backup, checked.
    data_dir
        Made if need be.

    Yields
    ------
    callable
        Gives them their names; if the block raises after that, they are taken away again.
    """
    named: list[Path] = []
    data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    work = Path(tempfile.mkdtemp(prefix=".restoring-", dir=data_dir))

    def name() -> None:
        for one in archive.manifest.folders:
            target = data_dir / one
            if target.exists():
                target.rmdir()  # empty: refuse_taken looked
            (work / one).rename(target)
            named.append(target)

    try:
        for one in archive.manifest.folders:
            (work / one).mkdir()
        for kept in archive.manifest.files:
            if kept.name.startswith(f"{FILES}/"):
                _take_out(archive, kept, work / kept.name.removeprefix(f"{FILES}/"))
        yield name
    except BaseException:
        for target in named:
            shutil.rmtree(target, ignore_errors=True)
        raise
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _take_out(archive: Archive, kept: FileKept, path: Path) -> None:
    """Write one file, and look once more that it is the one that was kept."""
    path.parent.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256()
    with archive.open(kept.name) as source, path.open("wb") as target:
        while piece := source.read(PIECE):
            digest.update(piece)
            target.write(piece)
    if digest.hexdigest() != kept.sha256:
        message = f"{archive.place}: {kept.name}: it changed while it was read; {ANOTHER}"
        raise ServiceError(message)
