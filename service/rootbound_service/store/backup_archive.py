"""A backup as it is read: a folder or one tar file, every file of it held against its checksum."""

from __future__ import annotations

import gzip
import hashlib
import tarfile
import zlib
from collections.abc import Generator, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO, Protocol

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.store.backup_manifest import (
    FORMAT,
    MANIFEST,
    MANIFEST_SUM,
    Manifest,
    TableKept,
    format_of,
    manifest_of,
)

PIECE = 1 << 20
ANOTHER = "restore from another backup"
GIVE = "give the folder or the .tar file that rootbound backup wrote"
BROKEN = (OSError, EOFError, ValueError, KeyError, TypeError, tarfile.TarError, zlib.error)
"""Whatever reading a damaged file may raise."""


class Shelf(Protocol):
    """Where the files of a backup stand."""

    def open(self, name: str) -> IO[bytes]:
        """Open a file for reading; KeyError or OSError if it is not there."""
        ...


class Archive:
    """One backup, opened; make it by :func:`open_archive`.

    Parameters
    ----------
    place
        Where it is.
    shelf
        What gives its files.
    """

    def __init__(self, place: Path, shelf: Shelf) -> None:
        self.place, self._shelf = place, shelf
        self.manifest = self._manifest()

    def open(self, name: str) -> IO[bytes]:
        """Open one of its files for reading."""
        return self._shelf.open(name)

    def lines(self, table: TableKept) -> Iterator[bytes]:
        """Read a table's rows, a line each."""
        with self.open(table.file) as packed, gzip.open(packed) as lines:
            yield from lines

    def _manifest(self) -> Manifest:
        try:
            raw, told = self._whole(MANIFEST), self._whole(MANIFEST_SUM).decode("ascii").split()
        except (*BROKEN, UnicodeDecodeError):
            what = "this is no backup, or its first files are missing or cut off"
            raise RefusedInput((Problem(str(self.place), what, GIVE),)) from None
        if not told or hashlib.sha256(raw).hexdigest() != told[0]:
            what = f"its checksum is not that in {MANIFEST_SUM}"
            raise RefusedInput((self.problem(MANIFEST, what),))
        try:
            text = raw.decode("utf-8")
            if format_of(text) == FORMAT:
                return manifest_of(text)
            what = f"it has format {format_of(text)!r}; this version reads format {FORMAT}"
        except (ValueError, KeyError, TypeError) as error:
            what = f"it does not say what a backup says of itself ({type(error).__name__})"
        wanted = "restore with the version of Rootbound that wrote it, or a newer one"
        raise RefusedInput((Problem(self.where(MANIFEST), what, wanted),))

    def _whole(self, name: str) -> bytes:
        with self.open(name) as file:
            return file.read()

    def where(self, name: str) -> str:
        """Name one of its files as a reader finds it."""
        return f"{self.place}: {name}"

    def problem(self, name: str, what: str) -> Problem:
        """Say what is wrong with one of its files."""
        return Problem(self.where(name), what, ANOTHER)


@contextmanager
def open_archive(place: Path) -> Generator[Archive]:
    """Open a backup and read what it says of itself; its other files are not looked at yet.

    Parameters
    ----------
    place
        The folder or the tar file.

    Yields
    ------
    Archive
        Open until the block ends.

    Raises
    ------
    RefusedInput
        If it is no backup, one of another format, or its manifest is damaged.
    """
    if place.is_dir():
        yield Archive(place, _Folder(place))
        return
    with ExitStack() as held:
        try:
            tar = held.enter_context(tarfile.open(place, "r:"))
        except FileNotFoundError:
            raise RefusedInput((Problem(str(place), "there is nothing", GIVE),)) from None
        except (OSError, tarfile.TarError):
            what = "this is no tar file, or it cannot be read"
            raise RefusedInput((Problem(str(place), what, GIVE),)) from None
        yield Archive(place, _Tar(tar))


class _Folder:
    def __init__(self, root: Path) -> None:
        self._root = root

    def open(self, name: str) -> IO[bytes]:
        return (self._root / name).open("rb")


class _Tar:
    def __init__(self, tar: tarfile.TarFile) -> None:
        self._tar = tar

    def open(self, name: str) -> IO[bytes]:
        found = self._tar.extractfile(name)
        if found is None:
            raise KeyError(name)
        return found
