"""The weather store: one Zarr group a source, read back as days of a cell.

One chunk of one array is replaced whole, by rename, so a writer that dies leaves each chunk
old or new, never torn; the next night's answer covers the same days again and mends the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_rules.season.values import DailyWeather
from rootbound_service.errors import ServiceError
from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES
from rootbound_service.weather.grid_handle import GridHandle
from rootbound_service.weather.grid_write import Spot, room_for, write_facts, write_quantity
from rootbound_service.weather.write_lock import write_lock

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from rootbound_rules.season.values import Series
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.quality import Flags

# Sources give two digits; float32 blurs them from the seventh on.
DIGITS = 4
# The last known day is looked for here first: one chunk instead of all of them.
RECENT_DAYS = 800
ALWAYS = ("tmax_c", "tmin_c", "rain_mm")


@dataclass(frozen=True, slots=True, eq=False)
class Stored:
    """One quantity as stored, flagged values included."""

    values: Series
    flags: Flags
    issued: NDArray[np.int32]
    """Days from 1 January 1981 to the answer that gave the value; -1 where there is none."""


class GridStore:
    """Daily weather of the cells of one source.

    Parameters
    ----------
    path
        Folder of the Zarr group, such as ``data_dir/weather/nasa_power.zarr``.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._handle = GridHandle(path)

    def cells(self) -> tuple[str, ...]:
        """Keys of the stored cells, in the order in which they came."""
        self._handle.look()
        return tuple(self._handle.rows)

    def elevation_m(self, cell: Cell) -> float | None:
        """Mean elevation of a cell as the source gave it, or None. [m]"""
        found = self._fact(cell, "elevation_m", np.nan)
        return None if np.isnan(found) else found

    def asked_from(self, cell: Cell) -> date | None:
        """First day that was ever asked for, or None for a new cell."""
        days = int(self._fact(cell, "asked_from", layout.NOT_ISSUED))
        return None if days < 0 else layout.EPOCH + timedelta(days=days)

    def last_day(self, cell: Cell) -> date | None:
        """Last day with both temperatures and rain, or None."""
        self._handle.look()
        if cell.key not in self._handle.rows:
            return None
        end = layout.EPOCH + timedelta(days=self._handle.arrays["day"].shape[0] - 1)
        lately = max(end - timedelta(days=RECENT_DAYS), layout.EPOCH)
        found = self._days(cell, lately, end, ALWAYS).known_through()
        return found or self._days(cell, layout.EPOCH, end, ALWAYS).known_through()

    def read(self, cell: Cell, start: date, end: date) -> DailyWeather:
        """Read a cell's days; what is missing or flagged is NaN.

        Parameters
        ----------
        cell
            A stored cell.
        start, end
            First and last day; days that the store does not have are NaN.

        Returns
        -------
        DailyWeather
            The days; a further series without one value in them is None.

        Raises
        ------
        ServiceError
            If the cell was never stored or the days run backwards.
        """
        return self._days(cell, start, end, QUANTITY_NAMES)

    def stored(self, cell: Cell, name: str, start: date, end: date) -> Stored:
        """Read one quantity with its flags and the dates it came, as ``explain`` shows it.

        Parameters
        ----------
        cell
            A stored cell.
        name
            Our name of the quantity.
        start, end
            First and last day.

        Returns
        -------
        Stored
            The values as received.

        Raises
        ------
        ServiceError
            If the cell was never stored or the days run backwards.
        """
        row, first, count = self._place(cell, start, end)
        return Stored(
            self._values(name, row, first, count),
            self._part(f"flag_{name}", row, first, count, 0),
            self._part(f"issued_{name}", row, first, count, layout.NOT_ISSUED),
        )

    def write_days(
        self,
        cell: Cell,
        start: date,
        columns: Mapping[str, Series],
        issued_on: date,
        *,
        flags: Mapping[str, Flags] | None = None,
        elevation_m: float | None = None,
    ) -> int:
        """Store what an answer brings: new values fill gaps, changed ones replace.

        A missing value never erases one that is there. A value within rounding of the
        stored one leaves it, and its date, as they are.

        Parameters
        ----------
        cell
            The cell; a new one is appended.
        start
            Day of element 0 of every column.
        columns
            Values by our names; NaN where the answer has none.
        issued_on
            Date of the answer.
        flags
            Quality flags of the same values, else none.
        elevation_m
            Mean elevation of the cell. [m]

        Returns
        -------
        int
            How many stored values were revised, beyond rounding.

        Raises
        ------
        ServiceError
            If the days begin before 1981.
        """
        first = layout.index_of(start)
        if first < 0:
            message = f"{cell.key}: weather from {start} cannot be stored; the store begins 1981"
            raise ServiceError(message)
        last = start + timedelta(days=max(map(len, columns.values())) - 1)
        self._path.parent.mkdir(parents=True, exist_ok=True)
        handle = self._handle
        with write_lock(self._path.with_suffix(".lock")):
            handle.look_to_write()
            row = room_for(handle, cell, last)
            spot = Spot(row, first, layout.index_of(issued_on))
            marks = flags or {}
            revised = sum(
                write_quantity(handle.arrays, q, spot, columns[q.name], marks.get(q.name))
                for q in QUANTITIES
                if q.name in columns
            )
            write_facts(handle.arrays, spot, cell, elevation_m)
            handle.name_row(row, cell.key)
        return revised

    def _days(self, cell: Cell, start: date, end: date, names: tuple[str, ...]) -> DailyWeather:
        """Read some quantities without flagged values."""
        row, first, count = self._place(cell, start, end)
        found: dict[str, Any] = {}
        for name in names:
            values = self._values(name, row, first, count)
            values[self._part(f"flag_{name}", row, first, count, 0) != 0] = np.nan
            found[name] = None if name not in ALWAYS and np.isnan(values).all() else values
        return DailyWeather(start, **found)

    def _place(self, cell: Cell, start: date, end: date) -> tuple[int, int, int]:
        """Find the row, the first day and the number of days."""
        self._handle.look()
        row = self._handle.rows.get(cell.key)
        if row is None:
            message = f"{cell.key}: no weather is stored for this cell yet; pull it first"
            raise ServiceError(message)
        if end < start:
            message = f"{cell.key}: weather from {start} to {end} was asked for; turn the days"
            raise ServiceError(message)
        return row, layout.index_of(start), (end - start).days + 1

    def _values(self, name: str, row: int, first: int, count: int) -> Series:
        """Read days of one quantity, in the digits in which it came."""
        return self._part(name, row, first, count, np.nan).astype(np.float64).round(DIGITS)

    def _part(self, name: str, row: int, first: int, count: int, fill: float) -> NDArray[Any]:
        """Read days of one row, with the fill value where the axis has none."""
        array = self._handle.arrays[name]
        low, high = max(first, 0), min(first + count, array.shape[1])
        if (low, high) == (first, first + count):
            return np.asarray(array[row, low:high])
        whole = np.full(count, fill, dtype=array.dtype)
        if low < high:
            whole[low - first : high - first] = array[row, low:high]
        return whole

    def _fact(self, cell: Cell, name: str, otherwise: float) -> float:
        """Read one number about a cell."""
        self._handle.look()
        row = self._handle.rows.get(cell.key)
        return otherwise if row is None else float(np.asarray(self._handle.arrays[name][row]))
