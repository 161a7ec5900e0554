"""Writes an answer into the store: the log of revisions first, then values, keys last."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES, Block
from rootbound_service.weather.grid_change import Change, Tables, change
from rootbound_service.weather.grid_parts import put, take
from rootbound_service.weather.revisions import ROW, RevisionLog, Revisions, joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.grid_handle import GridHandle

MOST_AT_ONCE = 2_000_000
"""Values held against the stored ones in one go; bounds the memory of a large answer."""


@dataclass(slots=True, eq=False)
class Written:
    """What an answer changed."""

    new: int = 0
    settled: int = 0
    """Values that went to final unchanged."""
    revisions: Revisions = field(default_factory=Revisions)

    @property
    def revised(self) -> int:
        """Stored values that the source has changed beyond rounding."""
        return len(self.revisions)


def rooms_for(
    handle: GridHandle, cells: Sequence[Cell], last: date | None
) -> tuple[NDArray[np.int64], dict[str, int]]:
    """Find or make the rows of cells, with room for a last day.

    Parameters
    ----------
    handle
        The store, opened to write.
    cells
        Each once; a new one gets a clean row, without its key yet.
    last
        Last day to be written, None for none.

    Returns
    -------
    tuple
        The rows of all cells, and those of the new ones by key.
    """
    fresh = [cell.key for cell in cells if cell.key not in handle.rows]
    named = dict(zip(fresh, handle.blank_rows(len(fresh)), strict=True))
    arrays = handle.arrays
    had = int(arrays["cell"].shape[0])
    days = 0 if last is None else layout.year_end_days(last)
    layout.grow(arrays, max(named.values(), default=-1) + 1, days)
    left = np.array([row for row in named.values() if row < had], dtype=np.int64)
    if left.size:  # an append that was cut off may have left values
        _blank(handle, left)
    rows = np.array([handle.rows.get(c.key, named.get(c.key, -1)) for c in cells], np.int64)
    return rows, named


def write_block(
    arrays: layout.Arrays,
    log: RevisionLog,
    block: Block,
    given: tuple[NDArray[np.uint16] | None, date],
    rows: NDArray[np.int64],
) -> Written:
    """Write the values of an answer.

    Parameters
    ----------
    arrays
        The store's arrays, with room.
    log
        Takes what is replaced, before it is.
    block
        The answer.
    given
        Its quality flags, and the day on which it came.
    rows
        Of its cells.

    Returns
    -------
    Written
        Counts, and the revisions.
    """
    flags, seen_on = given
    first = layout.index_of(block.start)
    done = Written()
    parts: list[Revisions] = []
    for cells, days in _slabs(len(rows), block.days):
        some, at = rows[cells], first + days.start
        count = days.stop - days.start
        old = _before(arrays, some, at, count)
        found = change(old, _answer(block, flags, seen_on, cells, days))
        lost = _lost(block, old, found, (cells.start, at), layout.index_of(seen_on))
        log.append(lost, seen_on)
        _store(arrays, some, at, old, found.after)
        done.new += int(np.count_nonzero(found.fresh))
        done.settled += int(np.count_nonzero(found.settled))
        parts.append(lost)
    done.revisions = joined(parts)
    return done


def _slabs(cells: int, days: int) -> Iterator[tuple[slice, slice]]:
    """Cut an answer along the cells and, if it is very long, the days."""
    long = min(days, MOST_AT_ONCE // len(QUANTITY_NAMES))
    wide = max(1, MOST_AT_ONCE // (len(QUANTITY_NAMES) * max(long, 1)))
    if wide > layout.CELL_CHUNK:
        wide -= wide % layout.CELL_CHUNK
    for cell in range(0, cells, wide):
        for day in range(0, days, long):
            yield slice(cell, min(cell + wide, cells)), slice(day, min(day + long, days))


def _before(arrays: layout.Arrays, rows: NDArray[np.int64], first: int, count: int) -> Tables:
    """Read what is stored; without any value only the flags, which a writer's death may leave."""
    value = take(arrays["value"], rows, first, count)
    flag = take(arrays["flag"], rows, first, count)
    rest = ("status", "issued", "seen")
    if np.isnan(value).all():
        empty = (np.full(value.shape, arrays[n].fill_value, arrays[n].dtype) for n in rest)
        return Tables(value, flag, *empty)
    return Tables(value, flag, *(take(arrays[name], rows, first, count) for name in rest))


def _answer(
    block: Block, flags: NDArray[np.uint16] | None, seen_on: date, cells: slice, days: slice
) -> Tables:
    """Lay a part of an answer out as the store does: all quantities, in our order."""
    order = [QUANTITY_NAMES.index(name) for name in block.quantities]
    shape = (len(QUANTITY_NAMES), cells.stop - cells.start, days.stop - days.start)
    value = np.full(shape, np.nan, np.float32)
    value[order] = block.values[:, cells, days]
    flag = np.zeros(shape, np.uint16)
    if flags is not None:
        flag[order] = flags[:, cells, days]
    status = np.zeros(shape, np.uint8)
    status[order] = block.status[:, None, days]
    seen = layout.index_of(seen_on)
    issue = seen if block.issued is None else layout.index_of(block.issued.date())
    return Tables(
        value, flag, status, np.full(shape, issue, np.int32), np.full(shape, seen, np.int32)
    )


def _lost(
    block: Block, old: Tables, found: Change, corner: tuple[int, int], seen_on: int
) -> Revisions:
    """List what is about to be replaced."""
    quantity, cell, day = np.nonzero(found.revised)
    rows = np.zeros(len(quantity), ROW)
    which, rows["cell"] = np.unique(cell, return_inverse=True)
    rows["quantity"], rows["day"] = quantity, day + corner[1]
    for name, column in (("value", "old_value"), ("issued", "old_issued")):
        rows[column] = getattr(old, name)[found.revised]
        rows[column.replace("old", "new")] = getattr(found.after, name)[found.revised]
    rows["old_status"], rows["old_flag"] = old.status[found.revised], old.flag[found.revised]
    rows["seen_on"] = seen_on
    return Revisions(tuple(block.cells[corner[0] + int(c)].key for c in which), rows)


def _store(
    arrays: layout.Arrays, rows: NDArray[np.int64], first: int, old: Tables, new: Tables
) -> None:
    """Write what differs; flags go before values and are lifted after them.

    The value comes after its dates: should we die between, the same answer is news again.
    """
    both = old.flag | new.flag
    if (both != old.flag).any() or _is_first(arrays, rows, first, old):
        put(arrays["flag"], rows, first, both)
    for name in ("issued", "seen", "status", "value"):
        before, after = getattr(old, name), getattr(new, name)
        if not np.array_equal(before, after, equal_nan=name == "value"):
            put(arrays[name], rows, first, after)
    if (both != new.flag).any():
        put(arrays["flag"], rows, first, new.flag)


def _is_first(arrays: layout.Arrays, rows: NDArray[np.int64], first: int, old: Tables) -> bool:
    """Whether these are the first values of some chunk, in a store that misses flags gone since."""
    if not layout.is_summed(arrays["flag"]):
        return False
    known = np.isfinite(old.value).any(axis=0)
    chunk, last = rows // layout.CELL_CHUNK, first + old.value.shape[2] - 1
    of_chunk: list[int] = np.unique(chunk).tolist()
    for cells in of_chunk:
        for days in range(first // layout.DAY_CHUNK, last // layout.DAY_CHUNK + 1):
            low = max(days * layout.DAY_CHUNK - first, 0)
            high = (days + 1) * layout.DAY_CHUNK - first
            if not np.compress(chunk == cells, known, axis=0)[:, low:high].any():
                return True
    return False


def _blank(handle: GridHandle, rows: NDArray[np.int64]) -> None:
    """Make rows of nobody as if new, in the chunks that are there at all."""
    for name in layout.TABLES:
        array = handle.arrays[name]
        many, wide, long = array.chunks
        for chunk in np.unique(rows // wide):
            own = rows[rows // wide == chunk]
            for days in handle.seat.day_chunks(name, int(chunk)):
                first = days * long
                shape = (many, len(own), min(long, array.shape[2] - first))
                put(array, own, first, np.full(shape, array.fill_value, array.dtype))
    for name in layout.CELL_FACTS:
        whole = np.asarray(handle.arrays[name][:])
        whole[rows] = handle.arrays[name].fill_value
        handle.arrays[name][:] = whole
