"""Days of some cells as read back from a weather store, and what the store has of a cell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.quality.flags import UNUSABLE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell

Dates = tuple["NDArray[np.int32]", "NDArray[np.int32]"]


@dataclass(frozen=True, slots=True)
class Span:
    """What a store has of one cell."""

    asked_from: date | None
    """First day that was ever asked for, None for a cell never asked."""
    last_day: date | None
    """Last day with every vital quantity that the source gives, none of them unusable."""


@dataclass(slots=True, eq=False)
class Days:
    """Consecutive days of some cells, every array of shape (quantity, cell, day)."""

    source: str
    cells: tuple[Cell, ...]
    start: date
    quantities: tuple[str, ...]
    values: NDArray[np.float64]
    """As received, flagged ones too; NaN is missing."""
    flags: NDArray[np.uint16]
    """Bits of :class:`~rootbound_service.weather.quality.flags.Flag`."""
    status: NDArray[np.uint8]
    """:class:`~rootbound_service.weather.day.Status`."""
    read_dates: Callable[[], Dates]
    """Reads ``issued`` and ``seen``, which a night does not need."""
    _dates: Dates | None = field(default=None, repr=False)

    @property
    def end(self) -> date:
        """The last day."""
        return self.start + timedelta(days=self.values.shape[2] - 1)

    @property
    def issued(self) -> NDArray[np.int32]:
        """Day of the issue that gave the value; -1 where there is none. [d since 1981-01-01]"""
        return self._both()[0]

    @property
    def seen(self) -> NDArray[np.int32]:
        """Day on which we first had a value; -1 where there is none. [d since 1981-01-01]"""
        return self._both()[1]

    def usable(self) -> NDArray[np.float64]:
        """Give the values, NaN where a flag says that one cannot be true."""
        return np.where(self.flags & UNUSABLE, np.nan, self.values)

    def forget_dates(self) -> None:
        """Read the dates anew at the next use."""
        self._dates = None

    def _both(self) -> Dates:
        """Read the dates once."""
        if self._dates is None:
            self._dates = self.read_dates()
        return self._dates
