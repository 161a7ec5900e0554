"""The weather store: one Zarr group a source, read back as days of cells.

One chunk of one array is replaced whole, by rename, so a writer that dies leaves each chunk
old or new, never torn; the next night's answer covers the same days again and mends the rest.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.errors import ServiceError
from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES, Block
from rootbound_service.weather.grid_change import rounded
from rootbound_service.weather.grid_days import Dates, Days, Span
from rootbound_service.weather.grid_facts import (
    fact,
    write_asked,
    write_elevations,
    write_given,
    write_places,
)
from rootbound_service.weather.grid_handle import GridHandle
from rootbound_service.weather.grid_parts import take
from rootbound_service.weather.grid_past import as_known_on
from rootbound_service.weather.grid_spans import last_known
from rootbound_service.weather.grid_write import Written, rooms_for, write_block
from rootbound_service.weather.revisions import RevisionLog
from rootbound_service.weather.write_lock import write_lock

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell

__all__ = ["Days", "GridStore", "Span", "Written"]


class GridStore:
    """Daily weather of the cells of one source.

    Parameters
    ----------
    path
        Folder of the Zarr group, such as ``data_dir/weather/nasa_power.zarr``.
    source
        Name of the source, as in its cells' keys.
    """

    def __init__(self, path: Path, source: str) -> None:
        self._path = path
        self._source = source
        self._handle = GridHandle(path, source)
        self.revisions = RevisionLog(path.with_name(f"{path.stem}.revisions"))

    def cells(self) -> tuple[str, ...]:
        """Keys of the stored cells, in the order of their rows."""
        self._handle.look()
        return tuple(self._handle.rows)

    def elevations(self, cells: Sequence[Cell]) -> NDArray[np.float64]:
        """Mean elevation of cells as the source gave it, NaN where unknown. [m]

        Parameters
        ----------
        cells
            Any cells of the source.
        """
        return fact(self._handle.arrays, "elevation_m", self._rows(cells))

    def spans(self, cells: Sequence[Cell]) -> list[Span]:
        """Say what the store has of each cell.

        Parameters
        ----------
        cells
            Any cells of the source.
        """
        rows = self._rows(cells)
        asked = np.nan_to_num(fact(self._handle.arrays, "asked_from", rows), nan=layout.NOT_KNOWN)
        last = last_known(self._handle.arrays, rows, asked)
        return [
            Span(layout.day_at(int(first)), layout.day_at(int(end)))
            for first, end in zip(asked, last, strict=True)
        ]

    def read(
        self,
        cells: Sequence[Cell],
        start: date,
        end: date,
        quantities: Sequence[str] = QUANTITY_NAMES,
    ) -> Days:
        """Read days of cells as received, with their flags.

        Parameters
        ----------
        cells
            Any cells of the source; one that is not stored is all missing.
        start, end
            First and last day; days that the store does not have are missing.
        quantities
            Which quantities, in the order wanted.

        Returns
        -------
        Days
            Arrays of shape (quantity, cell, day).

        Raises
        ------
        ServiceError
            If the days run backwards or a quantity is none of ours.
        """
        if end < start:
            message = f"{self._source}: weather from {start} to {end} was asked for; turn the days"
            raise ServiceError(message)
        strange = [name for name in quantities if name not in QUANTITY_NAMES]
        if strange:
            known = ", ".join(QUANTITY_NAMES)
            raise ServiceError(f"{self._source}: {strange[0]!r} is not stored; use one of {known}")
        rows = self._rows(cells)
        first, count = layout.index_of(start), (end - start).days + 1
        order = [QUANTITY_NAMES.index(name) for name in quantities]

        def part(name: str) -> NDArray[np.generic]:
            if not self._handle.arrays:
                dtype, fill, _ = layout.TABLES[name]
                return np.full((len(order), len(rows), count), fill, dtype)
            found = take(self._handle.arrays[name], rows, first, count)
            return found if len(order) == len(found) and order == sorted(order) else found[order]

        def dates() -> Dates:
            return part("issued").astype(np.int32), part("seen").astype(np.int32)

        flags = part("flag").astype(np.uint16, copy=False)
        values = rounded(part("value").astype(np.float32, copy=False))
        status = part("status").astype(np.uint8, copy=False)
        named = tuple(quantities)
        return Days(self._source, tuple(cells), start, named, values, flags, status, dates)

    def read_as_of(self, cells: Sequence[Cell], start: date, end: date, as_of: date) -> Days:
        """Read days of cells as we knew them at the end of a past day.

        Parameters
        ----------
        cells, start, end
            As for :meth:`read`.
        as_of
            Revisions learned later are undone, values first seen later are missing. Flags
            and status of a value that was not revised are today's.

        Raises
        ------
        ServiceError
            As for :meth:`read`, or if the log of revisions cannot be read.
        """
        days = self.read(cells, start, end)
        later = self.revisions.of(cells, since=as_of + timedelta(days=1))
        return as_known_on(days, later, as_of)

    def write(self, block: Block, flags: NDArray[np.uint16] | None, seen_on: date) -> Written:
        """Store what an answer brings: new values fill gaps, changed ones replace.

        Parameters
        ----------
        block
            The answer; NaN where it has no value, which never erases. Each cell once.
        flags
            Quality flags of its values, of the same shape; None: nothing found.
        seen_on
            The day on which it came.

        Returns
        -------
        Written
            Counts, and what was revised.

        Raises
        ------
        ServiceError
            If the answer is of another source or begins before the store does.
        """
        self._refuse(block, flags)
        with self._writing():
            rows, named = rooms_for(self._handle, block.cells, block.end)
            arrays = self._handle.arrays
            write_given(arrays, block.quantities)
            done = write_block(arrays, self.revisions, block, (flags, seen_on), rows)
            write_places(arrays, block.cells, rows)
            if block.elevation_m is not None:
                write_elevations(arrays, rows, block.elevation_m)
            write_asked(arrays, rows, block.start)
            self._handle.name_rows(named)
        return done

    def note_asked(self, cells: Sequence[Cell], start: date) -> None:
        """Remember that days from ``start`` on were asked for, although nothing may have come.

        Parameters
        ----------
        cells
            Each once.
        start
            First day asked for.
        """
        with self._writing():
            rows, named = rooms_for(self._handle, cells, None)
            write_places(self._handle.arrays, cells, rows)
            write_asked(self._handle.arrays, rows, start)
            self._handle.name_rows(named)

    @contextmanager
    def _writing(self) -> Generator[None]:
        """Hold the lock with the arrays open; after a failure they are opened anew."""
        self._path.parent.mkdir(parents=True, exist_ok=True)
        with write_lock(self._path.with_suffix(".lock")):
            self._handle.look_to_write()
            try:
                yield
            except BaseException:
                self._handle.forget()
                raise

    def _rows(self, cells: Sequence[Cell]) -> NDArray[np.int64]:
        """Rows of cells in the store as it is now."""
        self._handle.look()
        return self._handle.rows_of([cell.key for cell in cells])

    def _refuse(self, block: Block, flags: NDArray[np.uint16] | None) -> None:
        """Refuse an answer that cannot belong here."""
        if block.source != self._source:
            raise ServiceError(f"{self._source}: an answer of {block.source} does not belong here")
        if block.start < layout.EPOCH:
            message = (
                f"{self._source}: a day of {block.start} came; the store begins {layout.EPOCH}"
            )
            raise ServiceError(message)
        shape = (len(block.quantities), len(block.cells), block.days)
        if block.values.shape != shape or (flags is not None and flags.shape != shape):
            raise ServiceError(f"{self._source}: values and flags must have the shape {shape}")
