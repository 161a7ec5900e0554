"""How an answer changes the stored arrays: what is new fills, what differs replaces."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout

if TYPE_CHECKING:
    from rootbound_rules.season.values import Series
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Quantity
    from rootbound_service.weather.grid_handle import GridHandle
    from rootbound_service.weather.quality import Flags


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an answer goes: a row, its first day on the axis, and the date it came."""

    row: int
    first: int
    issued: int


def room_for(handle: GridHandle, cell: Cell, last: date) -> int:
    """Find or make the cell's row, with room for its last day.

    Parameters
    ----------
    handle
        The store, opened to write.
    cell
        The cell; a new one gets a clean row, without its key yet.
    last
        Last day to be written.

    Returns
    -------
    int
        The row.
    """
    arrays = handle.arrays
    known = handle.rows.get(cell.key)
    row = handle.blank_row() if known is None else known
    layout.grow(arrays, row + 1, layout.year_end_days(last))
    if known is None:
        for name in layout.row_names():  # an append that was cut off may have left values
            arrays[name][row, :] = arrays[name].fill_value
        arrays["asked_from"][row] = layout.NOT_ISSUED
        arrays["elevation_m"][row] = np.nan
    return row


def write_quantity(
    arrays: layout.Arrays, quantity: Quantity, spot: Spot, column: Series, given: Flags | None
) -> int:
    """Write one quantity of one cell; marks go before values and are lifted after them.

    Parameters
    ----------
    arrays
        The store's arrays, with room.
    quantity
        Which quantity.
    spot
        Where its first day goes.
    column, given
        Values, NaN where the answer has none, and their quality flags.

    Returns
    -------
    int
        How many stored values were revised, beyond rounding.
    """
    new = column.astype(np.float32)
    days = slice(spot.first, spot.first + len(new))
    values, marks, dates = (arrays[p + quantity.name] for p in ("", "flag_", "issued_"))
    old = np.asarray(values[spot.row, days])
    here = ~np.isnan(new)
    changed = here & (np.abs(new - old) > quantity.rounding)
    put = changed | (here & np.isnan(old))
    old_marks = np.asarray(marks[spot.row, days])
    new_marks = np.where(here, 0 if given is None else given, old_marks).astype(np.uint8)
    both = old_marks | new_marks
    if (both != old_marks).any():
        marks[spot.row, days] = both
    if put.any():
        values[spot.row, days] = np.where(put, new, old)
        old_dates = np.asarray(dates[spot.row, days])
        dates[spot.row, days] = np.where(put, np.int32(spot.issued), old_dates)
    if (both != new_marks).any():
        marks[spot.row, days] = new_marks
    return int(changed.sum())


def write_facts(arrays: layout.Arrays, spot: Spot, cell: Cell, elevation_m: float | None) -> None:
    """Write where a cell lies and since when it is asked for, if that is news.

    Parameters
    ----------
    arrays
        The store's arrays, with room.
    spot
        The cell's row and the first day of the answer.
    cell
        The cell.
    elevation_m
        Its mean elevation, if the answer has it. [m]
    """
    asked = int(np.asarray(arrays["asked_from"][spot.row]))
    facts: dict[str, float] = {} if elevation_m is None else {"elevation_m": elevation_m}
    if asked < 0:
        facts["lat"], facts["lon"] = cell.centre
    if asked < 0 or spot.first < asked:
        facts["asked_from"] = spot.first
    for name, value in facts.items():
        if np.asarray(arrays[name][spot.row]) != value:
            arrays[name][spot.row] = value
