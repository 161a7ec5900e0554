"""The files of a weather store one by one, for mending: read, put, set aside for the operator."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Protocol

from zarr.core.sync import sync

from rootbound_service.weather.answers import write_whole
from rootbound_service.weather.grid_head import LOG
from rootbound_service.weather.grid_pieces import PieceGoneError

if TYPE_CHECKING:
    from pathlib import Path

    from rootbound_service.weather.grid_pieces import Pieces

ASIDE = ".spoiled-"
KEPT = 3
"""So many folders of what was set aside are kept; the oldest goes. Our choice."""
OURS = re.compile(r"zarr\.json|[a-z_]+/zarr\.json|[a-z_]+/c/\d+(/\d+/\d+)?")


class Files(Protocol):
    """What a store consists of, by key: ``value/zarr.json``, ``value/c/0/3/42``."""

    lost_days: set[int]
    """Places of chunks along the days of which it is not even known what there was."""
    doubted: bool
    """Whether a reader met something that it could not read: everything is looked at."""
    few: int
    """So many are looked at in one night."""

    @property
    def aside(self) -> str:
        """Where what was set aside lies, empty if nothing does."""
        ...

    def keys(self) -> set[str]:
        """Name all that are there."""
        ...

    def read(self, key: str) -> bytes:
        """Read one; empty where it cannot be read."""
        ...

    def put(self, key: str, content: bytes) -> None:
        """Write one whole."""
        ...

    def set_aside(self, key: str) -> None:
        """Take one out of the store, if it is there."""
        ...

    def begin_anew(self) -> None:
        """Set all of it aside."""
        ...

    def looked(self) -> None:
        """Note that everything that was doubted has been looked at."""
        ...


def log_of(path: Path) -> Path:
    """Give the folder of the log of revisions beside a store.

    Parameters
    ----------
    path
        Of the Zarr group.
    """
    return path.with_name(f"{path.stem}.revisions")


def doubt_of(path: Path) -> Path:
    """Give the note that something in a folder could not be read.

    Parameters
    ----------
    path
        Of the Zarr group.
    """
    return path.with_suffix(".doubt")


class FolderFiles:
    """Files in a folder; what is set aside goes into another one beside it, named by the moment.

    Parameters
    ----------
    path
        Of the Zarr group.
    now
        The moment.
    """

    few = 4000

    def __init__(self, path: Path, now: datetime) -> None:
        self._path = path
        self.doubted = path.exists() and doubt_of(path).exists()
        self._aside = path.with_name(f"{path.stem}{ASIDE}{now:%Y%m%dT%H%M%SZ}")
        self.lost_days: set[int] = set()

    @property
    def aside(self) -> str:
        """Name of the folder of what was set aside, empty if nothing was."""
        return self._aside.name if self._aside.exists() else ""

    def keys(self) -> set[str]:
        """Name all that are there."""
        found = (p.relative_to(self._path).as_posix() for p in self._path.rglob("*") if p.is_file())
        return {key for key in found if OURS.fullmatch(key)}

    def read(self, key: str) -> bytes:
        """Read one; empty where it cannot be read."""
        try:
            return (self._path / key).read_bytes()
        except OSError:
            return b""

    def put(self, key: str, content: bytes) -> None:
        """Write one whole."""
        path = self._path / key
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, content)

    def set_aside(self, key: str) -> None:
        """Move one, if it is there; one of the log lies in the folder beside."""
        of_log = key.startswith(LOG)
        path = log_of(self._path) / key.removeprefix(LOG) if of_log else self._path / key
        self._move(path, self._aside / key)

    def begin_anew(self) -> None:
        """Move the whole folder."""
        self._move(self._path, self._aside / self._path.name)

    def looked(self) -> None:
        """Take the note of a reader away."""
        doubt_of(self._path).unlink(missing_ok=True)

    def _move(self, path: Path, where: Path) -> None:
        if path.exists():
            where.parent.mkdir(parents=True, exist_ok=True)
            path.replace(where)
            every = sorted(self._aside.parent.glob(f"{self._path.stem}{ASIDE}*"))
            for older in every[:-KEPT]:
                shutil.rmtree(older)


class PieceFiles:
    """Pieces named by a change that is being made; one set aside stays until it is cleared away.

    Parameters
    ----------
    pieces
        The change.
    """

    few = 500

    def __init__(self, pieces: Pieces) -> None:
        self._pieces = pieces
        self.lost_days: set[int] = set()
        self._drop_lost_indexes()

    @property
    def aside(self) -> str:
        """Nowhere: a piece is either gone or cleared away later."""
        return ""

    def keys(self) -> set[str]:
        """Name all that the version names."""
        named = sync(self._pieces.keys(self._pieces.head.indexes))
        own = {key for key, name in self._pieces.changed.items() if name is not None}
        return {key for key in (*named, *own) if OURS.fullmatch(key)}

    def read(self, key: str) -> bytes:
        """Read one; empty where it cannot be read."""
        try:
            return sync(self._pieces.read(key)) or b""
        except PieceGoneError:
            return b""

    def put(self, key: str, content: bytes) -> None:
        """Write one as a new piece."""
        sync(self._pieces.write(key, content))

    def set_aside(self, key: str) -> None:
        """Name it no more."""
        sync(self._pieces.delete(key))

    def begin_anew(self) -> None:
        """Name nothing more but the log."""
        for key in self.keys():
            self.set_aside(key)

    def looked(self) -> None:
        """There is no note of a reader."""

    def _drop_lost_indexes(self) -> None:
        """Go on without the indexes that cannot be read."""
        head, left = self._pieces.head, dict(self._pieces.head.indexes)
        for what in head.indexes:
            try:
                sync(self._pieces.keys([what]))
            except Exception:  # noqa: BLE001  gone, or no index any more: what it named is lost
                del left[what]
                place = what.partition("-")[2]
                self.lost_days |= {int(place)} if what.startswith("days-") else set()
        if len(left) < len(head.indexes):
            self._pieces.head = replace(head, indexes=left)
        self.doubted = len(left) < len(head.indexes)
