"""Gives every value of an answer its quality flags, with all that is known of its cell."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.calendar_slots import SLOTS, slots_of
from rootbound_service.weather.day import VITAL
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.flags import UNUSABLE, flag_words
from rootbound_service.weather.quality.radiation import clear_sky_mj

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Block
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.normals_shelf import NormalsShelf

LOOK_BACK = 30
MOST_LOST = 0.5
"""With a larger share of unusable values an answer of past years is not stored. Our choice."""
LONGEST = 400
"""An answer of more days than this is history: it is held against itself and the year after."""


@dataclass(frozen=True, slots=True, eq=False)
class JudgeOf:
    """Judge of one feed's answers.

    ``beside`` is a source to compare with, and which of its cells holds which of ours. ``past``
    says that all answers are of past years, however few: they come only once.
    """

    feed: Feed
    normals: NormalsShelf
    beside: tuple[Feed, Mapping[Cell, Cell]] | None = None
    past: bool = False

    def __call__(self, block: Block) -> NDArray[np.uint16]:
        """Flag the values of one answer, shape (quantity, cell, day)."""
        if self.past or block.days > LONGEST:
            return self._past(block)
        before = self.feed.store.read(
            block.cells,
            block.start - timedelta(days=LOOK_BACK),
            block.start - timedelta(days=1),
            block.quantities,
        )
        return check_block(
            block,
            Context(
                before=before.usable(),
                normals=self.normals.of(self.feed, block.cells, block.start.year),
                rso_mj=self._clear_sky(block),
                other=self._beside(block),
                held=self._held(block, block.start, block.end),
            ),
        )

    def _past(self, block: Block) -> NDArray[np.uint16]:
        """Flag years of the past; those that can hardly be used are refused.

        They would be asked for only once, and years without temperatures or rain are no years.
        What a formula can stand in for is marked and stored. A cell that has nothing after them
        either may lie in the sea: it is not asked for ever.
        """
        rso, after = self._clear_sky(block), self._year_after(block)
        flags = check_block(block, Context(rso_mj=rso, held=after, held_of_other_years=True))
        known = ~np.isnan(block.values)
        lost = ((flags & UNUSABLE) != 0).sum(axis=2) > MOST_LOST * known.sum(axis=2)
        none = ~known.any(axis=2) & ~np.isnan(after).all(axis=2)
        vital = np.array([name in VITAL for name in block.quantities])
        wrong = (lost | none).any(axis=1) & vital
        if wrong.any():
            row = int(wrong.argmax())
            bits = int(np.bitwise_or.reduce(flags[row], axis=None) & UNUSABLE)
            why = flag_words(bits) or "there is not one value"
            what = f"{block.quantities[row]} of {block.start} to {block.end} is no good: {why}"
            who = f"{self.feed.source.title}, cell {block.cells[0].key}"
            raise Unavailable(who, what, retry_later=True)
        return flags

    def _held(self, block: Block, start: date, end: date) -> NDArray[np.float64]:
        """What we have of the source's own, in the order of the answer's values."""
        return self.feed.store.read(block.cells, start, end, block.quantities).usable()

    def _year_after(self, block: Block) -> NDArray[np.float64]:
        """Days of the year after an answer, each at its place in every year of the answer."""
        begin = block.end + timedelta(days=1)
        year = self._held(block, begin, begin + timedelta(days=364))
        by_slot = np.full((*year.shape[:2], SLOTS), np.nan)
        by_slot[:, :, slots_of(begin, year.shape[2])] = year
        return by_slot[:, :, slots_of(block.start, block.days)]

    def _clear_sky(self, block: Block) -> NDArray[np.float64] | None:
        """Radiation under a clear sky, shape (cell, day). [MJ m-2 d-1]"""
        if "solar_mj" not in block.quantities:
            return None
        known = self.feed.store.elevations(block.cells)
        given = block.elevation_m if block.elevation_m is not None else known
        height = np.nan_to_num(np.where(np.isnan(given), known, given))
        lat = np.array([cell.lat for cell in block.cells])
        return clear_sky_mj(lat, height, block.start, block.days)

    def _beside(self, block: Block) -> NDArray[np.float64] | None:
        """What the other source has stored of the same days, in the order of our values."""
        if self.beside is None:
            return None
        feed, theirs = self.beside
        if not all(cell in theirs for cell in block.cells):
            return None
        cells = [theirs[cell] for cell in block.cells]
        return feed.store.read(cells, block.start, block.end, block.quantities).usable()
