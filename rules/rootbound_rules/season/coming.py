"""The coming days as a forecast has them, in the terms of the daily step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class ComingDays:
    """Days after the last real one that are forecast; shape of the arrays (traces, days).

    A forecast that gives one figure a day may be split into several traces here, so that
    its rain is as uncertain as it says. Each member of an outlook takes one trace, then
    goes on with its own past year.
    """

    start: date
    """Day of element 0: the day after the last real weather."""
    rain_mm: NDArray[np.float64]
    et0_mm: NDArray[np.float64]
    gdd_f: NDArray[np.float64]
    climate: NDArray[np.float64]
    """The bracket of FAO-56 Eq. 70 and 72. [-]"""

    @property
    def traces(self) -> int:
        """How many traces there are."""
        return int(self.rain_mm.shape[0])

    @property
    def days(self) -> int:
        """How many days each has."""
        return int(self.rain_mm.shape[1])

    @property
    def end(self) -> date:
        """The last day."""
        return self.start + timedelta(days=self.days - 1)
