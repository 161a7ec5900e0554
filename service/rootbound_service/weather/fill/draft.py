"""The series while it is being put together: every value with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.day import QUANTITY_NAMES, VITAL

NO_SOURCE = 255
ROWS = {name: row for row, name in enumerate(QUANTITY_NAMES)}
VITAL_ROWS = [ROWS[name] for name in VITAL]

Table = NDArray[np.float64]
"""Shape (place, day); NaN is missing."""
Mask = NDArray[np.bool_]


class How(IntEnum):
    """Where a value comes from."""

    MISSING = 0
    OBSERVED = 1
    """The preferred source's own value."""
    OTHER_SOURCE = 2
    INTERPOLATED = 3
    FORMULA = 4
    CLIMATE = 5
    FORECAST = 6
    """Rain that was forecast for a day now past."""
    ASSUMED_DRY = 7


REAL = (How.OBSERVED, How.OTHER_SOURCE)


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """Values of shape (quantity, place, day) and their origin; a set value is never changed."""

    values: NDArray[np.float64]
    how: NDArray[np.uint8]
    source: NDArray[np.uint8]
    suspect: Mask

    @classmethod
    def empty(cls, shape: tuple[int, ...]) -> Draft:
        """Begin with nothing known."""
        return cls(
            np.full(shape, np.nan),
            np.zeros(shape, np.uint8),
            np.full(shape, NO_SOURCE, np.uint8),
            np.zeros(shape, np.bool_),
        )

    def put(self, row: int, where: Mask, values: Table, how: How, source: int = NO_SOURCE) -> Mask:
        """Set values that are not set yet, and return where that was.

        Parameters
        ----------
        row
            Place of the quantity.
        where
            Which places and days may be set; a NaN sets nothing.
        values
            Shape (place, day).
        how, source
            Their origin.
        """
        free = where & self.missing(row) & ~np.isnan(values)
        self.values[row][free] = values[free]
        self.how[row][free] = how
        self.source[row][free] = source
        return free

    def missing(self, row: int) -> Mask:
        """Where a quantity has no value yet, shape (place, day)."""
        return np.asarray(self.how[row] == How.MISSING, np.bool_)

    def real(self, row: int) -> Mask:
        """Where some source has given the value, shape (place, day)."""
        how = self.how[row]
        return np.asarray((how == How.OBSERVED) | (how == How.OTHER_SOURCE), np.bool_)

    def whole_days(self) -> Mask:
        """Days that have everything vital from some source, shape (place, day)."""
        every = [self.real(row) for row in VITAL_ROWS]
        return np.asarray(np.logical_and.reduce(every), np.bool_)
