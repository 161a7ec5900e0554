"""One source with what we keep of it: the grid of its days and the answers as they came."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.weather.answers import AnswerShelf
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import DailySource
    from rootbound_service.weather.grid_store import GridStore


STORED_FROM = date(1981, 1, 1)
"""Earlier days are neither asked for nor stored."""


@dataclass(frozen=True, slots=True, eq=False)
class Feed:
    """A source, its store and its shelf."""

    source: DailySource
    store: GridStore
    answers: AnswerShelf

    @property
    def name(self) -> str:
        """Short name of the source."""
        return self.source.name

    def snap(self, lat: float, lon: float) -> Cell | None:
        """Cell of a place, None outside the source's grid. [deg]"""
        return self.source.grid.snap(lat, lon)


def first_day(feed: Feed) -> date:
    """First day that a source has and the store takes.

    Parameters
    ----------
    feed
        The source.
    """
    return max(feed.source.earliest, STORED_FROM)


def history_start(feed: Feed, today: date, years: int) -> date:
    """First day of the past years that serve as members and normals.

    Parameters
    ----------
    feed
        The source.
    today
        The day of asking.
    years
        How many whole years before this one.
    """
    return max(date(today.year - years, 1, 1), first_day(feed))
