"""One field's season laid out for the compiled code, ready to be run and run again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.season.layout import BLOCK, Out
from rootbound_rules.season.pack import out_of_blocks

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Single = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Everything ``season.kernel.season_of_field`` reads of one field.

    Arrays as :mod:`rootbound_rules.season.pack` makes them: blocks of 32 members first,
    the last block filled up from the first members.
    """

    field: Single
    params: Single
    digs: Single
    counts: Single
    weather: Single
    irrigation: Single
    """Water given on each day, shape (days,). [mm]"""
    plant_day: int
    days: int
    held: bool
    """Whether anything holds the roots; if not, the twins are one."""
    members: int
    """Without those that only fill the last block."""

    def play(self) -> Single:
        """Run the season.

        Returns
        -------
        ndarray
            What the kernel writes, shape (days, rows of ``Out``, members).
        """
        from rootbound_rules.season.kernel import season_of_field

        out = np.empty((len(self.weather), self.days * len(Out) * BLOCK), np.float32)
        season_of_field(
            self.field, self.params, self.digs, self.counts, self.weather, self.irrigation,
            self.plant_day, self.days, self.held, out,
        )  # fmt: skip
        return out_of_blocks(out, self.days, self.members)
