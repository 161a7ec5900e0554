"""Finds the last known day of each cell, from the newest chunk back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES, VITAL
from rootbound_service.weather.grid_parts import take
from rootbound_service.weather.quality.flags import UNUSABLE

if TYPE_CHECKING:
    from numpy.typing import NDArray

AT_ONCE = 8 * layout.CELL_CHUNK


def last_known(
    arrays: layout.Arrays, rows: NDArray[np.int64], asked_from: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Place of the last day with every vital quantity that the source gives.

    Parameters
    ----------
    arrays
        The store's arrays.
    rows
        Of the cells, below 0 for one that is not stored.
    asked_from
        Place of the first day asked for: before it there is nothing to find.

    Returns
    -------
    array
        Below 0 where there is none.
    """
    found = np.full(len(rows), -1, dtype=np.int64)
    if not arrays:
        return found
    needed = _needed(np.asarray(arrays["given"][:]))
    newest = (int(arrays["day"].shape[0]) - 1) // layout.DAY_CHUNK * layout.DAY_CHUNK
    for begin in range(0, len(rows), AT_ONCE):
        some = np.arange(begin, min(begin + AT_ONCE, len(rows)))
        open_ = some[rows[some] >= 0]
        for first in range(newest, -1, -layout.DAY_CHUNK):
            open_ = open_[(found[open_] < 0) & (asked_from[open_] < first + layout.DAY_CHUNK)]
            if not open_.size:
                break
            whole = _whole(arrays, rows[open_], first, needed)
            last = layout.DAY_CHUNK - 1 - whole[:, ::-1].argmax(axis=1)
            found[open_] = np.where(whole.any(axis=1), first + last, -1)
    return found


def _needed(given: NDArray[np.uint8]) -> list[int]:
    """Places of the quantities without which a day is not known."""
    gives = [place for place in range(len(QUANTITY_NAMES)) if given[place]]
    return [place for place in gives if QUANTITY_NAMES[place] in VITAL] or gives


def _whole(
    arrays: layout.Arrays, rows: NDArray[np.int64], first: int, needed: list[int]
) -> NDArray[np.bool_]:
    """Which days of a chunk have every needed value, shape (row, day)."""
    value = take(arrays["value"], rows, first, layout.DAY_CHUNK)[needed]
    flag = take(arrays["flag"], rows, first, layout.DAY_CHUNK)[needed]
    return np.asarray((~np.isnan(value) & ((flag & UNUSABLE) == 0)).all(axis=0) & bool(needed))
