"""The open arrays of the weather store, opened again when another process changed them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout

if TYPE_CHECKING:
    from pathlib import Path

Stamp = tuple[tuple[int, int], ...]


class GridHandle:
    """The arrays of one store and which row each cell has.

    Parameters
    ----------
    path
        The Zarr group.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._seen: Stamp = ()
        self.arrays: layout.Arrays = {}
        self.rows: dict[str, int] = {}

    def look(self) -> None:
        """Open the arrays if there are any and they have grown since."""
        stamp = self._stamp()
        if not stamp:
            self.arrays, self.rows = {}, {}
        elif stamp != self._seen:
            self._open(stamp)

    def look_to_write(self) -> None:
        """Open the arrays, making what is missing and mending a growth that was cut off."""
        stamp = self._stamp()
        if not stamp or stamp != self._seen:
            self._open(stamp)
            layout.mend(self.arrays)
            self._seen = self._stamp()

    def blank_row(self) -> int:
        """Return the first row without a key, else the next one."""
        taken = set(self.rows.values())
        return next(row for row in range(len(taken) + 1) if row not in taken)

    def name_row(self, row: int, key: str) -> None:
        """Give a row its key, after all else of a new cell is written."""
        if key not in self.rows:
            self.arrays["cell"][row] = key
            self.rows[key] = row
        self._seen = self._stamp()

    def _open(self, stamp: Stamp) -> None:
        """Open every array and read the keys."""
        self.arrays = layout.open_arrays(self._path)
        keys = np.asarray(self.arrays["cell"][:])
        self.rows = {str(key): row for row, key in enumerate(keys) if key}
        self._seen = stamp

    def _stamp(self) -> Stamp:
        """Return what changes on disk whenever the store grows; empty before it is made."""
        places = ("cell/zarr.json", "cell/c/0", "day/zarr.json")
        found = (self._path / place for place in places)
        return tuple((s.st_mtime_ns, s.st_ino) for p in found if p.exists() and (s := p.stat()))
