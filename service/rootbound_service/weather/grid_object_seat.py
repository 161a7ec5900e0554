"""A weather store as objects: pieces under new names, then one swap of the head.

What a folder does by renames and a lock, one small object does here: a reader goes by the head
it has read and so sees one version or the next, and a writer whose head was swapped under it
begins again on the newer one. Pieces that no version names any more stay for a while, for those
who still read an older one (:mod:`rootbound_service.weather.grid_tidy`).
"""

from __future__ import annotations

import threading
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from zarr.core.sync import sync

from rootbound_service.weather.grid_files import PieceFiles
from rootbound_service.weather.grid_head import (
    HEAD,
    LOG,
    Head,
    by_index,
    index_name,
    pack_head,
    pack_index,
    unpack_head,
)
from rootbound_service.weather.grid_pieces import Pieces, Shelf
from rootbound_service.weather.grid_tidy import clear

if TYPE_CHECKING:
    from datetime import datetime

    from rootbound_service.weather.drawer import Drawer
    from rootbound_service.weather.grid_files import Files
    from rootbound_service.weather.grid_seat import Seat, Stamp
    from rootbound_service.weather.objects import Objects


class ObjectSeat:
    """The store of one source below a prefix.

    Parameters
    ----------
    objects
        Of this source alone.
    """

    def __init__(self, objects: Objects) -> None:
        self._objects = objects
        self._shelf = Shelf(objects)
        self._pieces = Pieces(self._shelf, Head())
        self._lock = threading.RLock()
        self.log: Drawer = LogDrawer(self)

    def pieces(self) -> Pieces:
        """Give the newest version."""
        tag = self._pieces.head.tag
        found = self._objects.get(HEAD, unless=tag or "")
        if found is None:
            if tag is not None:
                self._pieces = Pieces(self._shelf, Head())
        elif found.tag != tag:
            head = unpack_head(found.content, found.tag, self._objects.url)
            self._pieces = Pieces(self._shelf, head)
        return self._pieces

    def stamp(self) -> Stamp:
        """Give the newest version's tag; empty before there is any."""
        tag = self.pieces().head.tag
        return () if tag is None else (tag,)

    def root(self) -> Pieces:
        """Give the version of the last look."""
        return self._pieces

    def day_chunks(self, name: str, chunk: int) -> list[int]:
        """Give which chunks along the days an array has, for one chunk along the cells."""
        return Changing(self._pieces).day_chunks(name, chunk)

    def doubt(self) -> None:
        """Leave it: the pieces of each day come round."""

    def files(self, now: datetime) -> Files:
        """Give the pieces of the version of the last look."""
        del now  # pieces never change their names
        return PieceFiles(self._pieces)

    @contextmanager
    def writing(self) -> Generator[Seat]:
        """Give a change to write on; it is told whole when the block ends well, or never."""
        with self._lock:
            change = Pieces(self._shelf, self.pieces().head, writable=True)
            yield Changing(change)
            if change.changed:
                self._tell(change)

    def _tell(self, change: Pieces) -> None:
        """Write the indexes that a change touches, then swap the head."""
        version = change.head.version + 1
        indexes = dict(change.head.indexes)
        replaced = set(change.dropped)
        for what, keys in by_index(change.changed).items():
            before = indexes.get(what)
            index = {} if before is None else dict(sync(self._shelf.index(before)))
            replaced |= {before} if before is not None else set()
            for key in keys:
                old, new = index.pop(key, None), change.changed[key]
                if new is not None:
                    index[key] = new
                if old is not None and old != new:
                    replaced.add(old)
            content = pack_index(index)
            indexes[what] = index_name(what, version, content)
            self._objects.put(indexes[what], content)
        self._objects.swap(HEAD, pack_head(version, indexes), change.head.tag)
        clear(self._objects, version, sorted(replaced))


class Changing:
    """A change being made, as a seat: it shows what was written so far.

    Parameters
    ----------
    pieces
        The change.
    """

    def __init__(self, pieces: Pieces) -> None:
        self._pieces = pieces
        self.log: Drawer = LogDrawer(self)

    def pieces(self) -> Pieces:
        """Give the change."""
        return self._pieces

    def stamp(self) -> Stamp:
        """Tell whether there is anything yet; only we write here."""
        return ("ours",) if self._pieces.head.tag or self._pieces.changed else ()

    def root(self) -> Pieces:
        """Give the change."""
        return self._pieces

    def day_chunks(self, name: str, chunk: int) -> list[int]:
        """Give which chunks along the days an array has, for one chunk along the cells."""
        begin = f"{name}/c/0/{chunk}/"
        days = [what for what in self._pieces.head.indexes if what.startswith("days-")]
        keys = sync(self._pieces.keys(days))
        return sorted(int(key.removeprefix(begin)) for key in keys if key.startswith(begin))

    def doubt(self) -> None:
        """Leave it: the pieces of each day come round."""

    def files(self, now: datetime) -> Files:
        """Give the pieces that the change names."""
        del now  # pieces never change their names
        return PieceFiles(self._pieces)

    @contextmanager
    def writing(self) -> Generator[Seat]:
        """Go on with the same change."""
        yield self


class LogDrawer:
    """The files of the log, told in the same change as the values they speak of.

    Parameters
    ----------
    seat
        Gives the version to be read or the change to be written.
    """

    def __init__(self, seat: ObjectSeat | Changing) -> None:
        self._seat = seat

    def names(self, folder: str) -> list[str]:
        """Names of the files, in order."""
        del folder  # there is one
        pieces = self._seat.pieces()
        months = [what for what in pieces.head.indexes if what.startswith("log-")]
        months += [what for what in by_index(pieces.changed) if what.startswith("log-")]
        return [key.removeprefix(LOG) for key in sync(pieces.keys(months))]

    def folders(self) -> list[str]:
        """There are none."""
        return []

    def has(self, name: str) -> bool:
        """Whether there is such a file."""
        return sync(self._seat.pieces().exists(LOG + name))

    def read(self, name: str) -> bytes | None:
        """Content of a file, None where it is not there."""
        return sync(self._seat.pieces().read(LOG + name))

    def put(self, name: str, content: bytes) -> None:
        """Add a file to the change."""
        sync(self._seat.pieces().write(LOG + name, content))

    def remove(self, name: str) -> None:
        """Take a file away in the change."""
        sync(self._seat.pieces().delete(LOG + name))


def seat_in(place: Path | Objects, source: str) -> Path | Seat:
    """Give what the store of a source lies on.

    Parameters
    ----------
    place
        A folder, or objects.
    source
        Name of the source.
    """
    if isinstance(place, Path):
        return place / "weather" / f"{source}.zarr"
    return ObjectSeat(place.under(f"weather/{source}"))
