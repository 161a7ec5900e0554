"""Chunks of values that cannot be read or are gone; the five tables stand or fall together."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.weather import grid_layout as layout

if TYPE_CHECKING:
    from collections.abc import Iterable

    from zarr import Array

    from rootbound_service.weather.grid_files import Files

TURNS = 30
"""Of very many files a night looks at this year's and the last's and at a share of the older
ones, so that each comes round within so many nights. Our choice."""
Corner = tuple[int, int]
"""Place of a chunk along the cells and along the days."""


@dataclass(slots=True)
class Lost:
    """Chunks whose days are to be asked for again."""

    corners: set[Corner] = field(default_factory=set[Corner])
    spoiled: list[str] = field(default_factory=list[str])
    """Keys of the files that could not be read or were gone."""


def mend_chunks(files: Files, arrays: layout.Arrays, today: date) -> Lost:
    """Set aside the chunks that cannot be read, each with what belongs to it.

    Parameters
    ----------
    files, arrays
        Of the store.
    today
        Chooses which of very many are looked at.
    """
    by_corner: dict[Corner, set[str]] = {}
    for key in sorted(files.keys()):
        steps = key.split("/")
        if steps[0] in layout.TABLES and steps[1] == "c":
            by_corner.setdefault((int(steps[3]), int(steps[4])), set()).add(steps[0])
    lost = Lost()
    wide = arrays["cell"].shape[0] // layout.CELL_CHUNK + 1
    lost.corners |= {(cells, days) for days in files.lost_days for cells in range(wide)}
    needed = set(layout.TABLES) - (set() if layout.is_summed(arrays["flag"]) else {"flag"})
    for corner in by_corner if files.doubted else _chosen(by_corner, today, files.few):
        there = by_corner[corner]
        gone = needed - there if there != {"flag"} else set[str]()
        unread = {name for name in there if not _readable(arrays[name], corner)}
        if not (gone or unread):
            continue
        lost.corners.add(corner)
        lost.spoiled += [_key(name, corner) for name in sorted(gone | unread)]
        for name in sorted(there):
            files.set_aside(_key(name, corner))
    return lost


def forget_days(arrays: layout.Arrays, lost: Lost, today: date) -> set[int]:
    """Say of the cells of lost chunks that those days were never asked for.

    Only the days before the first one asked for count as missing, so all up to the lost ones do.

    Parameters
    ----------
    arrays
        Of the store.
    lost
        The chunks.
    today
        A first day after it would be none: such a cell was never asked.

    Returns
    -------
    set of int
        Their rows.
    """
    asked = np.asarray(arrays["asked_from"][:])
    rows = set[int]()
    for cells, days in lost.corners:
        low = cells * layout.CELL_CHUNK
        after = (days + 1) * layout.DAY_CHUNK
        own = np.arange(low, min(low + layout.CELL_CHUNK, len(asked)))
        own = own[(asked[own] >= 0) & (asked[own] < after)]
        asked[own] = after if after < layout.index_of(today) else layout.NOT_KNOWN
        rows |= set(own.tolist())
    if rows:
        arrays["asked_from"][:] = asked
    return rows


def _chosen(corners: Iterable[Corner], today: date, few: int) -> list[Corner]:
    """All, or of very many those of the last two years and a share of the others."""
    every = sorted(corners)
    if len(every) * len(layout.TABLES) <= few:
        return every
    new = layout.index_of(date(today.year - 1, 1, 1)) // layout.DAY_CHUNK
    turn = today.toordinal() % TURNS
    return [one for n, one in enumerate(every) if one[1] >= new or n % TURNS == turn]


def _key(name: str, corner: Corner) -> str:
    return f"{name}/c/0/{corner[0]}/{corner[1]}"


def _readable(array: Array[Any], corner: Corner) -> bool:
    cells, days = corner[0] * layout.CELL_CHUNK, corner[1] * layout.DAY_CHUNK
    try:
        np.asarray(array[:, cells : cells + layout.CELL_CHUNK, days : days + layout.DAY_CHUNK])
    except Exception:  # noqa: BLE001  whatever it says, it cannot be read
        return False
    return True
