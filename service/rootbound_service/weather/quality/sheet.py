"""The values under test and what has been found about them so far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.quality.flags import UNUSABLE, Flag, Flags

Table = NDArray[np.float64]
"""Shape (cell, day); NaN is missing."""
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """Values of shape (quantity, cell, day), and their flags, which the checks add to."""

    quantities: tuple[str, ...]
    values: NDArray[np.float64]
    flags: Flags

    @classmethod
    def of(cls, quantities: tuple[str, ...], values: NDArray[np.float64]) -> Sheet:
        """Begin with nothing marked.

        Parameters
        ----------
        quantities
            Names along the first axis.
        values
            Shape (quantity, cell, day); they are never written to.
        """
        return cls(quantities, values, np.zeros(values.shape, np.uint16))

    def has(self, *names: str) -> bool:
        """Whether all of these quantities are there."""
        return set(names) <= set(self.quantities)

    def row(self, name: str) -> int:
        """Place of a quantity."""
        return self.quantities.index(name)

    def usable(self, name: str) -> Table:
        """Values of a quantity without those that cannot be right.

        A value that is only suspect stays: a jump that is hard to believe must still be
        held against the climate, which may rule it out.
        """
        row = self.row(name)
        return np.where(self.flags[row] & UNUSABLE, np.nan, self.values[row])

    def mark(self, name: str, where: Mask, flag: Flag) -> None:
        """Add a flag to a quantity's values at these cells and days."""
        self.flags[self.row(name)] |= where * np.uint16(flag)


def joined(before: Table | None, values: Table) -> Table:
    """Put the days before in front of a table.

    Parameters
    ----------
    before
        Shape (cell, earlier day), or None.
    values
        Shape (cell, day).
    """
    return values if before is None else np.concatenate([before, values], axis=1)
