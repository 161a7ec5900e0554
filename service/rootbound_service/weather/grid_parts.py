"""Reads and writes scattered rows of a stored array with as few chunks touched as there are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.weather import grid_layout as layout

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from zarr import Array

Rows = "NDArray[np.int64]"


def take(array: Array[Any], rows: NDArray[np.int64], first: int, count: int) -> NDArray[Any]:
    """Read rows over consecutive days, with the fill value where the store has none.

    Parameters
    ----------
    array
        Over (quantity, cell, day).
    rows
        In any order; below 0 a cell that is not stored.
    first, count
        Place of the first day on the day axis, which may lie outside it, and how many.

    Returns
    -------
    array
        Shape (quantity, row, day).
    """
    many, length = array.shape[0], array.shape[2]
    found = np.full((many, len(rows), count), array.fill_value, dtype=array.dtype)
    low, high = max(first, 0), min(first + count, length)
    known = np.flatnonzero((rows >= 0) & (rows < array.shape[1]))
    if low >= high or not known.size:
        return found
    days = slice(low - first, high - first)
    for start, end, which in runs(rows[known]):
        part = np.asarray(array[:, start:end, low:high])
        places = known[which]
        if len(places) == end - start and _rising(rows[places], start):
            found[:, _stretch(places), days] = part
        else:
            found[:, places, days] = part[:, rows[places] - start]
    return found


def put(array: Array[Any], rows: NDArray[np.int64], first: int, values: NDArray[Any]) -> None:
    """Write rows over consecutive days.

    Parameters
    ----------
    array
        Over (quantity, cell, day), large enough.
    rows
        Of the array, each once.
    first
        Place of the first day.
    values
        Shape (quantity, row, day).
    """
    days = slice(first, first + values.shape[2])
    for start, end, which in runs(rows):
        if len(which) == end - start and _rising(rows[which], start):
            array[:, start:end, days] = values[:, _stretch(which)]
            continue
        part = np.asarray(array[:, start:end, days])
        part[:, rows[which] - start] = values[:, which]
        array[:, start:end, days] = part


def runs(rows: NDArray[np.int64]) -> Iterator[tuple[int, int, NDArray[np.int64]]]:
    """Cut rows into stretches to be read at once.

    Parameters
    ----------
    rows
        None below 0.

    Yields
    ------
    tuple
        First row, row after the last, and which of ``rows`` lie between them: all rows where
        they follow each other, else those of one chunk after the other.
    """
    if not rows.size:
        return
    if _rising(rows, int(rows[0])):
        yield int(rows[0]), int(rows[-1]) + 1, np.arange(len(rows))
        return
    chunk = rows // layout.CELL_CHUNK
    order = np.argsort(chunk, kind="stable")
    cuts = np.flatnonzero(np.diff(chunk[order])) + 1
    for which in np.split(order, cuts):
        yield int(rows[which].min()), int(rows[which].max()) + 1, which


def _rising(rows: NDArray[np.int64], start: int) -> bool:
    """Whether rows follow each other from ``start`` on."""
    return bool((rows == np.arange(start, start + len(rows))).all())


def _stretch(places: NDArray[np.int64]) -> slice | NDArray[np.int64]:
    """Write consecutive places as a slice, which copies faster."""
    first = int(places[0])
    return slice(first, first + len(places)) if _rising(places, first) else places
