"""What a weather store lies on: how its arrays are opened, told to have changed, written by one."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import AbstractContextManager, contextmanager, suppress
from typing import TYPE_CHECKING, Protocol

from rootbound_service.weather.drawer import FolderDrawer
from rootbound_service.weather.grid_files import FolderFiles, doubt_of, log_of
from rootbound_service.weather.write_lock import write_lock

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from zarr.abc.store import Store

    from rootbound_service.weather.drawer import Drawer
    from rootbound_service.weather.grid_files import Files


Stamp = tuple[object, ...]


class Seat(Protocol):
    """Where the Zarr group of one source and its log of revisions lie."""

    log: Drawer
    """Of revisions."""

    def stamp(self) -> Stamp:
        """Give what changes whenever the store grows; empty before it is made."""
        ...

    def root(self) -> Path | Store:
        """Give what Zarr opens, as it stood at the last stamp."""
        ...

    def day_chunks(self, name: str, chunk: int) -> list[int]:
        """Give which chunks along the days an array has, for one chunk along the cells."""
        ...

    def doubt(self) -> None:
        """Note that something could not be read, for whoever mends next."""
        ...

    def files(self, now: datetime) -> Files:
        """Give the files one by one, for mending at a moment; only while writing."""
        ...

    def writing(self) -> AbstractContextManager[Seat]:
        """Give the seat to write on; nobody else writes until the block ends."""
        ...


class FolderSeat:
    """A folder with a lock file beside it.

    Each chunk is replaced whole, by rename; what is written shows at once.

    Parameters
    ----------
    path
        Of the Zarr group.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self.log: Drawer = FolderDrawer(log_of(path))

    def stamp(self) -> Stamp:
        """Give times and numbers of the files that a growth replaces."""
        cell = self._path / "cell"
        places = [cell / "zarr.json", self._path / "day" / "zarr.json"]
        if (chunks := cell / "c").is_dir():  # by number; a file half written has a longer name
            places += sorted(p for p in chunks.iterdir() if p.name.isdigit())
        found: list[tuple[int, int]] = []
        for place in places:
            try:
                stat = place.stat()
            except FileNotFoundError:
                continue
            found.append((stat.st_mtime_ns, stat.st_ino))
        return tuple(found)

    def root(self) -> Path:
        """Give the folder."""
        return self._path

    def day_chunks(self, name: str, chunk: int) -> list[int]:
        """Give which chunks along the days an array has, for one chunk along the cells."""
        files = (self._path / name / "c" / "0" / str(chunk)).glob("*")
        return sorted(int(file.name) for file in files if file.name.isdigit())

    def doubt(self) -> None:
        """Leave a note beside the folder, if that can be written to."""
        with suppress(OSError):
            doubt_of(self._path).touch()

    def files(self, now: datetime) -> Files:
        """Give the files of the folder."""
        return FolderFiles(self._path, now)

    @contextmanager
    def writing(self) -> Generator[Seat]:
        """Hold the lock file."""
        self._path.parent.mkdir(parents=True, exist_ok=True)
        with write_lock(self._path.with_suffix(".lock")):
            yield self
