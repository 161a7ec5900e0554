"""One version of a weather store's pieces as Zarr reads it, and a change on top of it."""

from __future__ import annotations

import asyncio
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

from zarr.abc.store import (
    ByteRequest,
    OffsetByteRequest,
    RangeByteRequest,
    Store,
    SuffixByteRequest,
)

from rootbound_service.errors import ServiceError
from rootbound_service.weather.grid_head import (
    FACTS,
    Head,
    Index,
    index_of,
    piece_name,
    unpack_index,
)

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterable

    from zarr.core.buffer import Buffer, BufferPrototype

    from rootbound_service.weather.objects import Objects

MOST_BYTES = 64_000_000
"""Of pieces kept in memory. Our choice: a night's newest days of 50,000 cells."""
MOST_INDEXES = 256


class PieceGoneError(ServiceError):
    """A piece of an old version has been cleared away: read the newest."""


class Shelf:
    """Pieces and indexes lately read; none ever changes.

    Parameters
    ----------
    objects
        Where they lie.
    """

    def __init__(self, objects: Objects) -> None:
        self.objects = objects
        self._pieces: OrderedDict[str, bytes] = OrderedDict()
        self._size = 0
        self._indexes: OrderedDict[str, Index] = OrderedDict()
        self._lock = threading.Lock()

    async def piece(self, name: str) -> bytes:
        """Read a piece.

        Parameters
        ----------
        name
            As an index has it.

        Raises
        ------
        PieceGoneError
            If it is not there any more.
        """
        with self._lock:
            if name in self._pieces:
                self._pieces.move_to_end(name)
                return self._pieces[name]
        content = await self.objects.get_async(name)
        if content is None:
            raise PieceGoneError(f"{self.objects.url}/{name}: is gone; look at the newest version")
        self.remember(name, content)
        return content

    async def index(self, name: str) -> Index:
        """Read an index.

        Parameters
        ----------
        name
            As the head has it.

        Raises
        ------
        PieceGoneError
            If it is not there any more.
        """
        with self._lock:
            if name in self._indexes:
                self._indexes.move_to_end(name)
                return self._indexes[name]
        content = await self.objects.get_async(name)
        if content is None:
            raise PieceGoneError(f"{self.objects.url}/{name}: is gone; look at the newest version")
        found = unpack_index(content)
        with self._lock:
            self._indexes[name] = found
            while len(self._indexes) > MOST_INDEXES:
                self._indexes.popitem(last=False)
        return found

    def remember(self, name: str, content: bytes) -> None:
        """Keep a piece in memory, letting go of those not asked for lately.

        Parameters
        ----------
        name, content
            Of the piece.
        """
        with self._lock:
            if name in self._pieces:
                return
            self._pieces[name] = content
            self._size += len(content)
            while self._size > MOST_BYTES:
                self._size -= len(self._pieces.popitem(last=False)[1])


class Pieces(Store):
    """A Zarr store over one version; written to, it holds a change that nobody sees yet.

    Parameters
    ----------
    shelf
        Reads the pieces.
    head
        The version.
    writable
        Whether a change may be made on top of it.
    """

    def __init__(self, shelf: Shelf, head: Head, *, writable: bool = False) -> None:
        super().__init__(read_only=not writable)
        self._shelf = shelf
        self.head = head
        self.changed: dict[str, str | None] = {}
        """Names of new pieces by key; None: the key is no more."""
        self.dropped: set[str] = set()
        """New pieces that were replaced before anybody could see them."""
        self._is_open = True

    def __eq__(self, other: object) -> bool:
        return other is self

    __hash__ = Store.__hash__

    async def name_of(self, key: str) -> str | None:
        """Name of the piece that a key stands for, None for none.

        Parameters
        ----------
        key
            As Zarr or the log asks.
        """
        if key in self.changed:
            return self.changed[key]
        index = self.head.indexes.get(index_of(key))
        return None if index is None else (await self._shelf.index(index)).get(key)

    async def read(self, key: str) -> bytes | None:
        """Read what a key stands for, None for nothing.

        Parameters
        ----------
        key
            As Zarr or the log asks.
        """
        name = await self.name_of(key)
        return None if name is None else await self._shelf.piece(name)

    async def write(self, key: str, content: bytes) -> None:
        """Put a new piece, which nobody sees before the change is told by a new head.

        Parameters
        ----------
        key
            What it holds.
        content
            All of it.
        """
        self._check_writable()
        name = piece_name(key, self.head.version + 1, content)
        await self._shelf.objects.put_async(name, content)
        self._shelf.remember(name, content)
        self._change(key, name)

    async def keys(self, indexes: Iterable[str]) -> list[str]:
        """List the keys of some indexes, in order.

        Parameters
        ----------
        indexes
            What they are the indexes of.
        """
        wanted = set(indexes)
        names = [name for what, name in self.head.indexes.items() if what in wanted]
        found = {
            key for index in await asyncio.gather(*map(self._shelf.index, names)) for key in index
        }
        own = {key: name for key, name in self.changed.items() if index_of(key) in wanted}
        found |= {key for key, name in own.items() if name is not None}
        return sorted(found - {key for key, name in own.items() if name is None})

    def _change(self, key: str, name: str | None) -> None:
        before = self.changed.get(key)
        if before is not None and before != name:
            self.dropped.add(before)
        if name is not None:
            self.dropped.discard(name)
        self.changed[key] = name

    # From here on: what Zarr asks of a store.

    async def get(
        self, key: str, prototype: BufferPrototype, byte_range: ByteRequest | None = None
    ) -> Buffer | None:
        """Read a key, or a part of it."""
        content = await self.read(key)
        if content is None:
            return None
        match byte_range:
            case RangeByteRequest(start, end):
                content = content[start:end]
            case OffsetByteRequest(offset):
                content = content[offset:]
            case SuffixByteRequest(suffix):
                content = content[-suffix:]
            case None:
                pass
        return prototype.buffer.from_bytes(content)

    async def get_partial_values(
        self,
        prototype: BufferPrototype,
        key_ranges: Iterable[tuple[str, ByteRequest | None]],
    ) -> list[Buffer | None]:
        """Read parts of keys."""
        return list(await asyncio.gather(*(self.get(k, prototype, r) for k, r in key_ranges)))

    async def exists(self, key: str) -> bool:
        """Whether a key stands for something."""
        return await self.name_of(key) is not None

    @property
    def supports_writes(self) -> bool:
        """Whether it can be written to at all."""
        return True

    @property
    def supports_deletes(self) -> bool:
        """Whether a key can be taken away."""
        return True

    @property
    def supports_listing(self) -> bool:
        """Whether it knows its keys."""
        return True

    async def set(self, key: str, value: Buffer) -> None:
        """Put a key."""
        await self.write(key, value.to_bytes())

    async def delete(self, key: str) -> None:
        """Take a key away."""
        self._check_writable()
        if await self.name_of(key) is not None:
            self._change(key, None)

    async def list(self) -> AsyncIterator[str]:
        """List all keys but those of the log."""
        for key in await self.keys([*self.head.indexes, FACTS, *map(index_of, self.changed)]):
            if not key.startswith("log/"):
                yield key

    async def list_prefix(self, prefix: str) -> AsyncIterator[str]:
        """List the keys that begin so."""
        async for key in self.list():
            if key.startswith(prefix):
                yield key

    async def list_dir(self, prefix: str) -> AsyncIterator[str]:
        """List the names right below a prefix; at the root those of the arrays."""
        below = f"{prefix.rstrip('/')}/" if prefix else ""
        keys = (
            [key async for key in self.list_prefix(below)] if prefix else await self.keys([FACTS])
        )
        for name in dict.fromkeys(key.removeprefix(below).partition("/")[0] for key in keys):
            yield name
