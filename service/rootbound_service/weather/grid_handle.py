"""The open arrays of one weather store, opened again when another process changed them."""

from __future__ import annotations

from itertools import count, islice
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from rootbound_service.weather.grid_seat import Seat, Stamp


class GridHandle:
    """The arrays of one store and which row each cell has.

    Parameters
    ----------
    seat
        Where they lie.
    source
        Name of the source.
    """

    def __init__(self, seat: Seat, source: str) -> None:
        self.seat = seat
        self._source = source
        self._seen: Stamp = ()
        self.arrays: layout.Arrays = {}
        self.rows: dict[str, int] = {}

    def look(self) -> None:
        """Open the arrays if there are any and they have grown since."""
        stamp = self.seat.stamp()
        if not stamp:
            self.arrays, self.rows = {}, {}
        elif stamp != self._seen:
            self._open(stamp)

    def look_to_write(self) -> None:
        """Open the arrays, making what is missing and mending a growth that was cut off."""
        stamp = self.seat.stamp()
        if not stamp or stamp != self._seen:
            self._open(stamp)
            layout.mend(self.arrays)
            self._seen = self.seat.stamp()

    def forget(self) -> None:
        """Read everything anew at the next look."""
        self._seen = ()

    def rows_of(self, keys: Sequence[str]) -> NDArray[np.int64]:
        """Rows of cells by their keys, -1 for one that is not stored."""
        return np.array([self.rows.get(key, -1) for key in keys], dtype=np.int64)

    def blank_rows(self, many: int) -> list[int]:
        """Return the first rows without a key."""
        taken = set(self.rows.values())
        return list(islice((row for row in count() if row not in taken), many))

    def name_rows(self, named: dict[str, int]) -> None:
        """Give rows their keys, after all else of the new cells is written."""
        if named:
            low, high = min(named.values()), max(named.values()) + 1
            part = np.asarray(self.arrays["cell"][low:high]).astype(object)
            for key, row in named.items():
                part[row - low] = key
            self.arrays["cell"][low:high] = part
            self.rows.update(named)
        self._seen = self.seat.stamp()

    def _open(self, stamp: Stamp) -> None:
        """Open every array and read the keys."""
        self._seen = ()  # should the reading fail, the next look reads anew
        self.arrays = layout.open_arrays(self.seat.root(), self._source)
        keys = np.asarray(self.arrays["cell"][:])
        self.rows = {str(key): row for row, key in enumerate(keys) if key}
        self._seen = stamp
