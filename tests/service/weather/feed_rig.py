"""Sources of past days that play a table, and count what they are asked; no network."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.answers import AnswerShelf
from rootbound_service.weather.cells import Grid
from rootbound_service.weather.day import QUANTITY_NAMES, Ask, Block, Habits, settled_by_age
from rootbound_service.weather.feed import Feed
from rootbound_service.weather.grid_store import GridStore

USUAL = {
    "tmax_c": 27.0,
    "tmin_c": 16.0,
    "rain_mm": 3.0,
    "solar_mj": 6.5,
    "dewpoint_c": 14.5,
    "wind_m_s": 2.2,
}
"""Before the swing of a few days: the same value every day would be stuck."""
COARSE = Grid("coarse", -90.0, -180.0, 0.5, 0.625, 361, 576, wraps=True)
"""Of the whole globe, its last column the neighbour of the first."""
FINE = Grid("fine", 49.4, -124.75, -1 / 24, 1 / 24, 585, 1386)
"""Of a part of the globe, row 0 the northernmost."""


@dataclass
class PlayedSource:
    """Tells the usual day everywhere, up to its lag; what is set here changes that."""

    grid: Grid
    title: str = "Played"
    earliest: date = date(1981, 1, 1)
    habits: Habits = field(default_factory=lambda: Habits(lag=2, recent=30, settled=60))
    quantities: tuple[str, ...] = QUANTITY_NAMES
    usual: dict[str, float] = field(default_factory=lambda: dict(USUAL))
    missing: set[tuple[str, date]] = field(default_factory=set)
    """Values, by quantity and day, that it does not have."""
    says: dict[tuple[str, date], float] = field(default_factory=dict)
    empty: set[str] = field(default_factory=set)
    """Keys of cells of which it has no day."""
    breaks: list[Exception | None] = field(default_factory=list)
    """What the next requests come to, first in first out; None: an answer."""
    asked: list[Ask] = field(default_factory=list)

    @property
    def name(self) -> str:
        return self.grid.source

    def value(self, name: str, day: date) -> float:
        """What it says of a day if nothing else is set."""
        return round(self.usual[name] + 0.1 * (day.toordinal() * 7 % 11), 4)

    def split(self, ask: Ask) -> Iterator[Ask]:
        for cell in ask.cells:
            yield Ask((cell,), ask.start, ask.end, ask.asked_on)

    def fetch(self, ask: Ask) -> Block:
        self.asked.append(ask)
        error = self.breaks.pop(0) if self.breaks else None
        if error is not None:
            raise error
        values = np.full((len(self.quantities), len(ask.cells), ask.days), np.nan)
        for day in range(ask.days - max(self.habits.lag - (ask.asked_on - ask.end).days, 0)):
            when = ask.start + timedelta(days=day)
            for row, name in enumerate(self.quantities):
                if (name, when) not in self.missing:
                    values[row, :, day] = self.says.get((name, when), self.value(name, when))
        gone = [cell.key in self.empty for cell in ask.cells]
        values[:, gone] = np.nan
        status = settled_by_age(ask, self.habits, self.quantities)
        height = np.full(len(ask.cells), 300.0)
        return Block(self.name, ask.cells, ask.start, self.quantities, values, status,
                     elevation_m=height)  # fmt: skip


def down(title: str = "Played") -> Unavailable:
    """What a service that is down for a while comes to."""
    return Unavailable(title, "is not well (HTTP 503)", retry_later=True)


def a_feed(folder: Path, grid: Grid, **changes: object) -> Feed:
    """A played source with its store and shelf."""
    source = PlayedSource(grid, **changes)  # type: ignore[arg-type]
    store = GridStore(folder / "weather" / f"{grid.source}.zarr", grid.source)
    return Feed(source, store, AnswerShelf(folder / "answers" / grid.source))
