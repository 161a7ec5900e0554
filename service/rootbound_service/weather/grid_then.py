"""A weather store as it was known at the end of a past day, to be read and never written."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.grid_past import as_known_on
from rootbound_service.weather.grid_store import GridStore

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.grid_days import Days


class GridThen(GridStore):
    """Gives the days as we knew them then, by the log of revisions and each value's first day.

    Parameters
    ----------
    store
        As it is now.
    as_of
        The day; what was learned later on it counts.
    """

    def __init__(self, store: GridStore, as_of: date) -> None:
        super().__init__(store._seat, store._source)  # noqa: SLF001  (one of its own kind)
        self._as_of = as_of

    def read(
        self,
        cells: Sequence[Cell],
        start: date,
        end: date,
        quantities: Sequence[str] = QUANTITY_NAMES,
    ) -> Days:
        """Read days as they were known; see :meth:`GridStore.read`."""
        days = super().read(cells, start, end, quantities)
        later = self.revisions.of(cells, since=self._as_of + timedelta(days=1))
        return as_known_on(days, later, self._as_of)


def feeds_then(feeds: Mapping[str, Feed], as_of: date) -> dict[str, Feed]:
    """Give every source with its days as they were known.

    Parameters
    ----------
    feeds
        As they are now.
    as_of
        The day.
    """
    return {name: replace(one, store=GridThen(one.store, as_of)) for name, one in feeds.items()}
