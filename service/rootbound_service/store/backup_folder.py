"""The files of a backup: written beside its place, put on the disk, and named when whole."""

from __future__ import annotations

import hashlib
import os
import shutil
import tarfile
import tempfile
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path

from rootbound_service.store.backup_manifest import MANIFEST, MANIFEST_SUM, FileKept, Manifest

TAR = ".tar"
UNFINISHED = {".part", ".partial", ".lock"}


@contextmanager
def beside(to: Path) -> Generator[Path]:
    """Give a folder nobody else may read, on the same disk as a backup's place.

    Parameters
    ----------
    to
        Where the backup will be; the folder around it must be there.

    Yields
    ------
    Path
        Empty; gone after the block, whatever is left in it.
    """
    work = Path(tempfile.mkdtemp(prefix=f".{to.name}-", suffix=".unfinished", dir=to.parent))
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)


def copy_folder(source: Path, target: Path) -> None:
    """Copy a folder that others write to, without what they have not finished.

    Parameters
    ----------
    source
        What is half written there goes by a name of its own, and may vanish meanwhile.
    target
        Not there yet.
    """
    target.mkdir(parents=True)
    for path in source.rglob("*"):
        if not path.is_file() or path.suffix in UNFINISHED:
            continue
        copy = target / path.relative_to(source)
        copy.parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileNotFoundError):
            shutil.copyfile(path, copy)


def files_of(whole: Path) -> list[FileKept]:
    """Give every file of a folder with its checksum.

    Parameters
    ----------
    whole
        The backup as it grows, without its manifest.
    """
    found: list[FileKept] = []
    for path in sorted(one for one in whole.rglob("*") if one.is_file()):
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        found.append(FileKept(path.relative_to(whole).as_posix(), path.stat().st_size, digest))
    return found


def finish(whole: Path, manifest: Manifest, to: Path) -> None:
    """Write the manifest and give the backup its name.

    Parameters
    ----------
    whole
        The backup's folder, all but its manifest, in one of :func:`beside`.
    manifest
        What it says of itself.
    to
        Its place; one file if the name ends in ``.tar``.
    """
    text = manifest.text().encode()
    (whole / MANIFEST).write_bytes(text)
    (whole / MANIFEST_SUM).write_text(f"{hashlib.sha256(text).hexdigest()}  {MANIFEST}\n", "ascii")
    done = whole
    if to.suffix == TAR:
        done = whole.with_suffix(TAR)
        names = [MANIFEST, MANIFEST_SUM, *(one.name for one in manifest.files)]
        with tarfile.open(done, "x:", format=tarfile.PAX_FORMAT) as tar:
            for name in names:
                tar.add(whole / name, name, recursive=False, filter=_nobodys)
        done.chmod(0o600)
    for path in (done, *done.rglob("*")):
        _to_disk(path)
    done.rename(to)
    _to_disk(to.parent)


def _to_disk(path: Path) -> None:
    """Wait until a file, or a folder's list of names, would outlast a power cut."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _nobodys(member: tarfile.TarInfo) -> tarfile.TarInfo:
    """Say nothing of who made it, and let only its owner read what is taken out."""
    member.uid = member.gid = 0
    member.uname = member.gname = ""
    member.mode = 0o600
    return member
