"""The weather store: one Zarr group a source, read back as days of cells.

In a folder one chunk of one array is replaced whole, by rename, so a writer that dies leaves each
chunk old or new, never torn; the next night's answer covers the same days again and mends the
rest. As objects a whole answer shows at once or not at all.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from rootbound_service.errors import ServiceError
from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES, Block
from rootbound_service.weather.grid_days import Days, Span
from rootbound_service.weather.grid_facts import (
    fact,
    write_asked,
    write_elevations,
    write_given,
    write_places,
)
from rootbound_service.weather.grid_handle import GridHandle
from rootbound_service.weather.grid_mend import Mended, mend
from rootbound_service.weather.grid_past import as_known_on
from rootbound_service.weather.grid_pieces import PieceGoneError
from rootbound_service.weather.grid_read import read_days, refuse_days, steadily
from rootbound_service.weather.grid_seat import FolderSeat
from rootbound_service.weather.grid_spans import last_known
from rootbound_service.weather.grid_write import Written, rooms_for, write_block
from rootbound_service.weather.objects import OvertakenError
from rootbound_service.weather.revisions import RevisionLog

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell, Grid
    from rootbound_service.weather.grid_seat import Seat

__all__ = ["Days", "GridStore", "Span", "Written"]

Done = TypeVar("Done")
TURNS = 16
"""So often a change begins again because another writer was quicker, who is done by then."""


class GridStore:
    """Daily weather of the cells of one source.

    Parameters
    ----------
    seat
        Where it lies; a path is a folder's, such as ``data_dir/weather/nasa_power.zarr``.
    source
        Name of the source, as in its cells' keys.
    """

    def __init__(self, seat: Path | Seat, source: str) -> None:
        self._seat = FolderSeat(seat) if isinstance(seat, Path) else seat
        self._source = source
        self._handle = GridHandle(self._seat, source)
        self.revisions = RevisionLog(self._seat.log)

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
        return steadily(self._handle, cells, lambda arrays, rows: fact(arrays, "elevation_m", rows))

    def spans(self, cells: Sequence[Cell]) -> list[Span]:
        """Say what the store has of each cell.

        Parameters
        ----------
        cells
            Any cells of the source.
        """

        def both(arrays: layout.Arrays, rows: NDArray[np.int64]) -> list[Span]:
            asked = np.nan_to_num(fact(arrays, "asked_from", rows), nan=layout.NOT_KNOWN)
            return [
                Span(layout.day_at(int(first)), layout.day_at(int(end)))
                for first, end in zip(asked, last_known(arrays, rows, asked), strict=True)
            ]

        return steadily(self._handle, cells, both)

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
        refuse_days(self._source, start, end, quantities)
        return read_days(self._handle, self._source, cells, (start, end), quantities)

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

        def put(handle: GridHandle, log: RevisionLog) -> Written:
            rows, named = rooms_for(handle, block.cells, block.end)
            arrays = handle.arrays
            write_given(arrays, block.quantities)
            done = write_block(arrays, log, block, (flags, seen_on), rows)
            write_places(arrays, block.cells, rows)
            if block.elevation_m is not None:
                write_elevations(arrays, rows, block.elevation_m)
            write_asked(arrays, rows, block.start)
            handle.name_rows(named)
            return done

        return self._change(put)

    def note_asked(self, cells: Sequence[Cell], start: date) -> None:
        """Remember that days from ``start`` on were asked for, although nothing may have come.

        Parameters
        ----------
        cells
            Each once.
        start
            First day asked for.
        """

        def put(handle: GridHandle, _: RevisionLog) -> None:
            rows, named = rooms_for(handle, cells, None)
            write_places(handle.arrays, cells, rows)
            write_asked(handle.arrays, rows, start)
            handle.name_rows(named)

        self._change(put)

    def mend(self, grid: Grid, now: datetime) -> Mended:
        """Set aside what cannot be read, so that it is asked for again and the rest goes on.

        Parameters
        ----------
        grid
            Of the source.
        now
            The moment.
        """
        for left in reversed(range(TURNS)):
            try:
                with self._seat.writing() as seat:
                    return mend(seat, self._source, grid, now)
            except OvertakenError:
                if not left:
                    raise
            finally:
                self._handle.forget()
        raise AssertionError  # the loop returns or raises

    def _change(self, put: Callable[[GridHandle, RevisionLog], Done]) -> Done:
        """Make a change as the only writer; one that was overtaken is made again on the newer."""
        for left in reversed(range(TURNS)):
            try:
                with self._writing() as (handle, log):
                    return put(handle, log)
            except (OvertakenError, PieceGoneError):
                if not left:
                    raise
        raise AssertionError  # the loop returns or raises

    @contextmanager
    def _writing(self) -> Generator[tuple[GridHandle, RevisionLog]]:
        """Be the only writer with the arrays open; after a failure they are opened anew."""
        with self._seat.writing() as seat:
            own = seat is self._seat
            handle = self._handle if own else GridHandle(seat, self._source)
            try:
                handle.look_to_write()
                yield handle, self.revisions if own else RevisionLog(seat.log)
            except BaseException:
                handle.forget()
                raise

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
