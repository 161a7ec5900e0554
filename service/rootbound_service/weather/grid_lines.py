"""Facts of cells that cannot be read or cannot be true: put right from each other, or let go."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.errors import RefusedInput
from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from zarr import Array

    from rootbound_service.weather.cells import Cell, Grid
    from rootbound_service.weather.grid_files import Files

HEIGHTS_M = (-500.0, 9000.0)
"""No land lies lower or higher."""
NEAR_DEG = 1e-6
FIXED = ("quantity", "units", "day")


def mend_lines(
    files: Files, arrays: layout.Arrays, grid: Grid
) -> tuple[list[str], NDArray[np.int64]]:
    """Set aside what cannot be read of the lines, and put them right.

    A key is found again by where its cell lies, and a place by the key. What is known of neither
    is nobody's; a first day asked for that is lost reads as never asked.

    Parameters
    ----------
    files, arrays
        Of the store.
    grid
        Of its source.

    Returns
    -------
    tuple
        Keys of the files that were spoiled or gone, and the rows of which a fact was lost.
    """
    spoiled: list[str] = []
    rows: list[int] = []
    there = files.keys()
    for name in (*FIXED, "given", *layout.CELL_FACTS, "cell"):
        many = arrays["cell"].shape[0] if name in (*layout.CELL_FACTS, "cell") else 0
        for key, low, high in _chunks(arrays[name], name):
            if key in there and not _readable(arrays[name], low, high):
                files.set_aside(key)
                spoiled.append(key)
                rows += range(low, min(high, many))
    _write_fixed(arrays)
    keys = np.asarray(arrays["cell"][:]).astype(object)
    for key, low, high in _gone(arrays, keys, there):
        spoiled.append(key)
        rows += range(low, high) if key.startswith("asked_from") else ()
    changed = _mend_keys(arrays, keys, grid, {k for k in spoiled if k.startswith("cell/")})
    changed |= _mend_places(arrays, keys, grid)
    changed |= _mend_numbers(arrays)
    if any(key.startswith("asked_from/") for key in spoiled):  # none is never asked, not gone
        arrays["asked_from"][:] = np.asarray(arrays["asked_from"][:])
    return spoiled, np.array(sorted({*rows, *changed}), np.int64)


def _chunks(array: Array[Any], name: str) -> Iterator[tuple[str, int, int]]:
    """Key, first place and place after the last of each chunk of a line."""
    length, long = array.shape[0], array.chunks[0]
    for number, low in enumerate(range(0, length, long)):
        yield f"{name}/c/{number}", low, min(low + long, length)


def _readable(array: Array[Any], low: int, high: int) -> bool:
    try:
        np.asarray(array[low:high])
    except Exception:  # noqa: BLE001  whatever it says, it cannot be read
        return False
    return True


def _write_fixed(arrays: layout.Arrays) -> None:
    """Write anew what is the same in every store."""
    days = np.arange(arrays["day"].shape[0], dtype=np.int32)
    units = np.array([q.units for q in QUANTITIES], dtype=object)
    wanted = {"quantity": np.array(QUANTITY_NAMES, dtype=object), "units": units, "day": days}
    for name, content in wanted.items():
        if not np.array_equal(np.asarray(arrays[name][:]), content):
            arrays[name][:] = content


def _gone(
    arrays: layout.Arrays, keys: NDArray[np.object_], there: set[str]
) -> Iterator[tuple[str, int, int]]:
    """Chunks that must be there and are not: a cell has a key, a place, a first day asked for."""
    placed, named = np.isfinite(np.asarray(arrays["lat"][:])), keys != ""
    always = {name: np.ones(arrays[name].shape[0], np.bool_) for name in FIXED}
    wants = {"lat": named, "lon": named, "asked_from": named, "cell": placed} | always
    for name, wanted in wants.items():
        for key, low, high in _chunks(arrays[name], name):
            if key not in there and wanted[low:high].any():
                yield key, low, high


def _mend_keys(
    arrays: layout.Arrays, keys: NDArray[np.object_], grid: Grid, lost: set[str]
) -> set[int]:
    """Give rows their keys again by where they lie, where a key is none or its chunk is lost."""
    lat, lon = (np.asarray(arrays[name][:]) for name in ("lat", "lon"))
    long = arrays["cell"].chunks[0]
    taken, changed = {str(key) for key in keys if key and _cell(grid, str(key))}, set[int]()
    for row, key in enumerate(keys):
        no_key = f"cell/c/{row // long}" in lost if not key else _cell(grid, str(key)) is None
        if not no_key:
            continue
        found = _at(grid, float(lat[row]), float(lon[row]))
        keys[row] = found.key if found is not None and found.key not in taken else ""
        taken.add(keys[row])
        if keys[row] != key:
            changed.add(row)
    if changed:
        arrays["cell"][:] = keys
    return changed


def _mend_places(arrays: layout.Arrays, keys: NDArray[np.object_], grid: Grid) -> set[int]:
    """Write where cells lie, as their keys say."""
    changed = set[int]()
    for name in ("lat", "lon"):
        told = np.asarray(arrays[name][:])
        right = told.copy()
        for row, key in enumerate(keys):
            if key and (cell := _cell(grid, str(key))) is not None:
                right[row] = getattr(cell, name)
        apart = np.flatnonzero(~np.isclose(told, right, rtol=0, atol=NEAR_DEG, equal_nan=True))
        if apart.size:
            arrays[name][:] = np.where(np.isin(np.arange(len(told)), apart), right, told)
            changed |= set(apart.tolist())
    return changed


def _mend_numbers(arrays: layout.Arrays) -> set[int]:
    """Let go of numbers that cannot be true."""
    changed = set[int]()
    days = arrays["day"].shape[0]
    low, high = HEIGHTS_M
    asked, height = (np.asarray(arrays[name][:]) for name in ("asked_from", "elevation_m"))
    for name, told, wrong, fill in (
        ("asked_from", asked, (asked < layout.NOT_KNOWN) | (asked > days), layout.NOT_KNOWN),
        ("elevation_m", height, (height < low) | (height > high), np.nan),
    ):
        if wrong.any():
            told[wrong] = fill
            arrays[name][:] = told
            changed |= set(np.flatnonzero(wrong).tolist())
    return changed


def _cell(grid: Grid, key: str) -> Cell | None:
    try:
        return grid.from_key(key)
    except RefusedInput:
        return None


def _at(grid: Grid, lat: float, lon: float) -> Cell | None:
    """The cell whose centre this is."""
    if not (np.isfinite(lat) and np.isfinite(lon)):
        return None
    try:
        cell = grid.snap(lat, lon)
    except RefusedInput:
        return None
    near = cell is not None and max(abs(cell.lat - lat), abs(cell.lon - lon)) < NEAR_DEG
    return cell if near else None
