"""Reads days of cells from the open arrays of a store, all of them from one version of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from rootbound_service.errors import ServiceError
from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.grid_change import rounded
from rootbound_service.weather.grid_days import Dates, Days
from rootbound_service.weather.grid_parts import take
from rootbound_service.weather.grid_pieces import PieceGoneError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.grid_handle import GridHandle

Got = TypeVar("Got")
TRIES = 4
"""So often a read begins again because what it read was cleared away meanwhile."""


def steadily(
    handle: GridHandle,
    cells: Sequence[Cell],
    read: Callable[[layout.Arrays, NDArray[np.int64]], Got],
) -> Got:
    """Read from the newest version; again from a newer one where that was cleared away.

    Parameters
    ----------
    handle
        Of the store.
    cells
        Any cells of the source.
    read
        Takes the arrays, and the cells' rows in them.
    """
    for left in reversed(range(TRIES)):
        try:
            handle.look()
            return read(handle.arrays, handle.rows_of([cell.key for cell in cells]))
        except PieceGoneError:
            handle.forget()
            if not left:
                raise
        except ServiceError:
            raise
        except Exception:
            handle.seat.doubt()
            raise
    raise AssertionError  # the loop returns or raises


def refuse_days(source: str, start: date, end: date, quantities: Sequence[str]) -> None:
    """Refuse days that run backwards and quantities that are none of ours.

    Parameters
    ----------
    source
        For the sentence.
    start, end, quantities
        As asked for.

    Raises
    ------
    ServiceError
        With what would be right.
    """
    if end < start:
        message = f"{source}: weather from {start} to {end} was asked for; turn the days"
        raise ServiceError(message)
    strange = [name for name in quantities if name not in QUANTITY_NAMES]
    if strange:
        known = ", ".join(QUANTITY_NAMES)
        raise ServiceError(f"{source}: {strange[0]!r} is not stored; use one of {known}")


def read_days(
    handle: GridHandle,
    source: str,
    cells: Sequence[Cell],
    span: tuple[date, date],
    quantities: Sequence[str],
) -> Days:
    """Read days of cells as received, with their flags.

    Parameters
    ----------
    handle
        Of the store.
    source
        Its name.
    cells
        One that is not stored is all missing.
    span
        First and last day.
    quantities
        In the order wanted.
    """
    start, end = span
    first, count = layout.index_of(start), (end - start).days + 1
    order = [QUANTITY_NAMES.index(name) for name in quantities]

    def part(arrays: layout.Arrays, rows: NDArray[np.int64], name: str) -> NDArray[np.generic]:
        if not arrays:
            dtype, fill, _ = layout.TABLES[name]
            return np.full((len(order), len(rows), count), fill, dtype)
        found = take(arrays[name], rows, first, count)
        return found if len(order) == len(found) and order == sorted(order) else found[order]

    def dates(arrays: layout.Arrays, rows: NDArray[np.int64]) -> Dates:
        issued, seen = (part(arrays, rows, name) for name in ("issued", "seen"))
        return issued.astype(np.int32), seen.astype(np.int32)

    def days(arrays: layout.Arrays, rows: NDArray[np.int64]) -> Days:
        flags = part(arrays, rows, "flag").astype(np.uint16, copy=False)
        values = rounded(part(arrays, rows, "value").astype(np.float32, copy=False))
        status = part(arrays, rows, "status").astype(np.uint8, copy=False)

        def later() -> Dates:
            try:
                return dates(arrays, rows)
            except PieceGoneError:
                return steadily(handle, cells, dates)

        return Days(source, tuple(cells), start, tuple(quantities), values, flags, status, later)

    return steadily(handle, cells, days)
