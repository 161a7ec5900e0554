"""Facts about cells beside their days: where they lie, how high, since when asked for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell


def write_places(arrays: layout.Arrays, cells: Sequence[Cell], rows: NDArray[np.int64]) -> None:
    """Write where cells lie, if that is news.

    Parameters
    ----------
    arrays
        The store's arrays, with room.
    cells, rows
        The cells and their rows.
    """
    _write(arrays, "lat", rows, np.array([cell.lat for cell in cells]))
    _write(arrays, "lon", rows, np.array([cell.lon for cell in cells]))


def write_elevations(
    arrays: layout.Arrays, rows: NDArray[np.int64], elevation_m: NDArray[np.float64]
) -> None:
    """Write elevations that are known, if that is news.

    Parameters
    ----------
    arrays
        The store's arrays, with room.
    rows
        Of the cells.
    elevation_m
        NaN where unknown. [m]
    """
    known = np.isfinite(elevation_m)
    _write(arrays, "elevation_m", rows[known], elevation_m[known])


def write_asked(arrays: layout.Arrays, rows: NDArray[np.int64], start: date) -> None:
    """Write that the days from ``start`` on were asked for, where not even earlier ones were.

    Parameters
    ----------
    arrays
        The store's arrays, with room.
    rows
        Of the cells.
    start
        First day asked for; one before the store begins counts as its first.
    """
    first = max(layout.index_of(start), 0)
    old = np.asarray(arrays["asked_from"][:])[rows]
    earlier = (old < 0) | (old > first)
    _write(arrays, "asked_from", rows[earlier], np.full(int(earlier.sum()), first))


def write_given(arrays: layout.Arrays, quantities: Sequence[str]) -> None:
    """Write which quantities the source gives, if that is news.

    Parameters
    ----------
    arrays
        The store's arrays.
    quantities
        Our names.
    """
    places = np.array([QUANTITY_NAMES.index(name) for name in quantities], dtype=np.int64)
    _write(arrays, "given", places, np.ones(len(places)))


def fact(arrays: layout.Arrays, name: str, rows: NDArray[np.int64]) -> NDArray[np.float64]:
    """Read one fact of cells, NaN where a row is below 0.

    Parameters
    ----------
    arrays
        The store's arrays, or none.
    name
        Of the fact.
    rows
        Of the cells.
    """
    found = np.full(len(rows), np.nan)
    known = rows >= 0
    if known.any():
        found[known] = np.asarray(arrays[name][:])[rows[known]]
    return found


def _write(
    arrays: layout.Arrays, name: str, rows: NDArray[np.int64], values: NDArray[np.float64]
) -> None:
    """Write numbers into a line of the store where they differ."""
    if not rows.size:
        return
    whole = np.asarray(arrays[name][:])
    if np.array_equal(whole[rows], values):
        return
    whole[rows] = values
    arrays[name][:] = whole
