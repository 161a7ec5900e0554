"""Keeps what is usual in each cell: worked out once a year from its past years, then read."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.normals import Normals, normals_of, stack

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.feed import Feed

FEWEST_YEARS = 5
"""With fewer whole years of a cell nothing is called usual. Our choice."""
MOST_KEPT = 2048
"""Some 110 kB each."""


class NormalsShelf:
    """Normals by cell, year and first known day, kept in memory while the process lives.

    Parameters
    ----------
    years
        How many whole past years they rest on.
    """

    def __init__(self, years: int) -> None:
        self._years = years
        self._known: dict[tuple[str, int, date], Normals] = {}

    def of(self, feed: Feed, cells: Sequence[Cell], year: int) -> Normals | None:
        """Give the normals of some cells for a year, from the whole years before it.

        Parameters
        ----------
        feed
            The source of the cells.
        cells
            Which cells.
        year
            The year in which they serve.

        Returns
        -------
        Normals or None
            None if any of the cells has too few past years yet.
        """
        latest = date(year - FEWEST_YEARS, 1, 1)
        since = [span.asked_from for span in feed.store.spans(cells)]
        if any(first is None or first > latest for first in since):
            return None
        if len(self._known) > MOST_KEPT:  # before asking what is missing: all of them will be
            self._known.clear()
        keys = [(cell.key, year, first) for cell, first in zip(cells, since, strict=True) if first]
        missing = {
            key: cell for key, cell in zip(keys, cells, strict=True) if key not in self._known
        }
        if missing:
            self._work_out(feed, missing, year)
        return stack([self._known[key] for key in keys])

    def _work_out(
        self, feed: Feed, missing: Mapping[tuple[str, int, date], Cell], year: int
    ) -> None:
        """Read the past years of some cells and work out what is usual."""
        start, end = date(year - self._years, 1, 1), date(year - 1, 12, 31)
        usable = feed.store.read(list(missing.values()), start, end, QUANTITY_NAMES).usable()
        for place, key in enumerate(missing):
            one = usable[:, place : place + 1]
            self._known[key] = normals_of(one, start, QUANTITY_NAMES)
