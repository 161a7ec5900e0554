"""Which cells of which sources serve a field: its own cell, and those that stand in for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from rootbound_service.public.order import Order
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.feed import Feed


@dataclass(frozen=True, slots=True)
class Place:
    """A cell of the preferred source, and the cells of the others that hold its centre.

    All fields in one cell are one place: whatever is worked out for it serves them all.
    """

    cell: Cell
    others: tuple[Cell, ...] = ()

    @property
    def key(self) -> str:
        """Key of the preferred source's cell."""
        return self.cell.key

    @property
    def cells(self) -> tuple[Cell, ...]:
        """All of them in order of preference."""
        return (self.cell, *self.others)

    @property
    def sources(self) -> tuple[str, ...]:
        """Names of the sources, in order of preference."""
        return tuple(cell.source for cell in self.cells)


def place_of(lat: float, lon: float, order: Order, feeds: Mapping[str, Feed]) -> Place | None:
    """Find the cells that serve a place.

    Parameters
    ----------
    lat, lon
        The field. [deg]
    order
        Which sources, in turn.
    feeds
        The sources there are. One that was asked for the cell and has no day of it (a cell
        of water, say) is passed over.

    Returns
    -------
    Place or None
        None where no source covers the place.
    """
    return places_of([(lat, lon)], order, feeds)[0]


def places_of(
    points: Sequence[tuple[float, float]], order: Order, feeds: Mapping[str, Feed]
) -> list[Place | None]:
    """Find the cells that serve some places, each store being looked at once.

    Parameters
    ----------
    points
        Latitude and longitude of the fields. [deg]
    order, feeds
        As for :func:`place_of`.

    Returns
    -------
    list of Place or None
        In the order of the points.
    """
    found = [_cells_at(lat, lon, order, feeds) for lat, lon in points]
    empty = _empty_cells({cell for cells in found for cell in cells}, feeds)
    return [_place(cells, empty, feeds) for cells in found]


def _cells_at(lat: float, lon: float, order: Order, feeds: Mapping[str, Feed]) -> list[Cell]:
    """Cells that hold a place, in the order of their sources."""
    names = [name for name in order.sources("days", lat, lon) if name in feeds]
    return [cell for name in names if (cell := feeds[name].snap(lat, lon)) is not None]


def _place(cells: list[Cell], empty: set[Cell], feeds: Mapping[str, Feed]) -> Place | None:
    """The first cell that is not known to be empty, and those of the others at its centre.

    An empty one is asked on: its service may have known nothing on one bad day only. When it has
    a day, it serves the place again.
    """
    if not cells:
        return None
    own = next((cell for cell in cells if cell not in empty), cells[0])
    others = (
        cell if cell in empty else feeds[cell.source].snap(*own.centre)
        for cell in cells
        if cell != own
    )
    return Place(own, tuple(other for other in others if other is not None))


def each_once(places: Iterable[Place | None]) -> list[Place]:
    """List the places of some fields without repeats; a field that no source covers has none.

    Parameters
    ----------
    places
        From :func:`places_of`.
    """
    return list(dict.fromkeys(place for place in places if place is not None))


def own_cells(places: Iterable[Place]) -> dict[str, list[Cell]]:
    """List the places' own cells by source, each once: those whose past years are needed.

    Parameters
    ----------
    places
        Of the fields.
    """
    return cells_by_source(Place(place.cell) for place in places)


def cells_by_source(places: Iterable[Place]) -> dict[str, list[Cell]]:
    """List the cells of each source that the places need, each once.

    Parameters
    ----------
    places
        Of the fields.
    """
    found: dict[str, dict[Cell, None]] = {}
    for place in places:
        for cell in place.cells:
            found.setdefault(cell.source, {})[cell] = None
    return {name: list(cells) for name, cells in found.items()}


def _empty_cells(cells: set[Cell], feeds: Mapping[str, Feed]) -> set[Cell]:
    """Cells that were asked for and have not one day."""
    found: set[Cell] = set()
    for name in {cell.source for cell in cells}:
        own = [cell for cell in cells if cell.source == name]
        spans = feeds[name].store.spans(own)
        found |= {
            cell
            for cell, span in zip(own, spans, strict=True)
            if span.asked_from is not None and span.last_day is None
        }
    return found
