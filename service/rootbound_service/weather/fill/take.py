"""Takes every value from the first source that has it, brought to the preferred one's level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.bias import day_shift, levelled
from rootbound_service.weather.fill.draft import ROWS, Draft, How, Mask, Table
from rootbound_service.weather.quality.cross import COMPARED, contradicts
from rootbound_service.weather.quality.flags import SUSPECT, UNUSABLE, Flag, Flags

DOUBTED = np.uint16(Flag.RAIN_OUTLIER | Flag.STUCK | Flag.STEP)
"""With one of these a value gives way to another source that contradicts it: two signs against
it. A contradiction alone does not tell which of the two is wrong; the preferred one stays."""

TEMPERATURES = ("tmax_c", "tmin_c")
STUCK = np.uint16(Flag.STUCK)
"""Both temperatures stuck on the same day give way to any other source: two runs at once are
no weather (a dozen such days of May 2014 stand in a record of forty years from Iowa)."""


@dataclass(frozen=True, slots=True, eq=False)
class SourceDays:
    """What one source has of some places, in the order of ``QUANTITY_NAMES``."""

    name: str
    values: NDArray[np.float64]
    """As received, shape (quantity, place, day)."""
    flags: Flags
    status: NDArray[np.uint8]
    start: date

    def usable(self, row: int) -> Table:
        """Values of a quantity that may be used, shape (place, day)."""
        return np.where(self.flags[row] & UNUSABLE, np.nan, self.values[row])

    def doubted(self, row: int, flags: np.uint16) -> Mask:
        """Where a quantity's values carry one of some flags, shape (place, day)."""
        return np.asarray((self.flags[row] & flags) != 0, np.bool_)


def take(draft: Draft, sources: Sequence[SourceDays]) -> NDArray[np.int8]:
    """Take every value from the first source that has it.

    Parameters
    ----------
    draft
        The series; it is added to.
    sources
        In order of preference, all of the same places and days.

    Returns
    -------
    array
        Whether the rain taken from a source falls a day earlier (-1) or later (1) than the
        preferred one's, shape (source, place).
    """
    shift = np.zeros((len(sources), draft.values.shape[1]), np.int8)
    for row, name in enumerate(QUANTITY_NAMES):
        own = _own(row, name, sources)
        draft.put(row, ~np.isnan(own), own, How.OBSERVED, 0)
        draft.suspect[row] = sources[0].doubted(row, SUSPECT) & ~np.isnan(own)
        for rank, other in enumerate(sources[1:], 1):
            free = draft.missing(row)
            if not free.any():
                break
            values, thin = levelled(name, own, other.usable(row))
            put = draft.put(row, free, values, How.OTHER_SOURCE, rank)
            draft.suspect[row] |= put & (thin | other.doubted(row, SUSPECT))
            places = np.flatnonzero(put.any(axis=1))
            if name == "rain_mm" and len(places):
                shift[rank, places] = day_shift(own[places], other.usable(row)[places])
    return shift


def _own(row: int, name: str, sources: Sequence[SourceDays]) -> Table:
    """The preferred source's values, but for doubted ones that another source speaks against."""
    first = sources[0]
    own, doubted = first.usable(row), first.doubted(row, DOUBTED)
    if name not in COMPARED or not doubted.any():
        return own
    stuck = np.zeros(own.shape, np.bool_)
    if name in TEMPERATURES:
        stuck = np.logical_and.reduce([first.doubted(ROWS[n], STUCK) for n in TEMPERATURES])
    wrong = np.zeros(own.shape, np.bool_)
    for other in sources[1:]:
        theirs = np.where(other.doubted(row, SUSPECT), np.nan, other.usable(row))
        against = stuck | (doubted & contradicts(name, own, theirs))
        wrong |= against & ~np.isnan(theirs)
    return np.where(wrong, np.nan, own)
