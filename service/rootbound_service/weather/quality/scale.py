"""A whole answer in other units than its label says: each value may be possible, all are not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.sheet import Mask, Sheet, Table

Tables = Mapping[str, Table]
"""By quantity, shape (cell, day)."""

# Judgement, no published limit. An inch is 25.4 mm, a knot 0.51 m s-1, a mile an hour 0.45, a
# kilowatt-hour 3.6 MJ; a degree Fahrenheit moves a summer's mean by 30 degC, a winter's by 18.
RAIN_TIMES = 10.0
PEAK_TIMES = 5.0
"""The wettest day of years is hardly ever so far below that of one year, in a drought or not."""
TIMES = {"wind_m_s": 1.8, "solar_mj": 2.5}
APART_C = 12.0
"""Less, and March 2012 in Iowa, held against the five years before, would be marked."""
LEAST_RAIN_MM = 15.0
"""Less rain on the side that has more says nothing of its unit."""
LEAST_RAIN_ELSEWHERE_MM = 50.0
"""The same where the other side is another source: wide cells drizzle while a field is dry."""
FEWEST_DAYS = 15
BY_DIFFERENCE = ("tmax_c", "tmin_c", "dewpoint_c")


@dataclass(frozen=True, slots=True)
class Witness:
    """What an answer's values are held against as a whole."""

    values: Tables
    speaks_of: tuple[str, ...]
    """Quantities for which it is near enough to tell a unit."""
    least_rain_mm: float = LEAST_RAIN_MM
    other_years: bool = False
    """Whether it tells of other years: their rain can be compared by its wettest days alone."""


def usual_witness(values: Tables) -> Witness:
    """What is usual tells of wind alone: a drought or a spring of records is no error of units.

    Parameters
    ----------
    values
        The mean of each day of the year.
    """
    return Witness(values, ("wind_m_s",))


def other_witness(values: Tables) -> Witness:
    """Another source tells of everything; where its wind blows otherwise, what is usual acquits.

    Parameters
    ----------
    values
        Its usable values of the same days.
    """
    every = ("rain_mm", "wind_m_s", "solar_mj", *BY_DIFFERENCE)
    return Witness(values, every, LEAST_RAIN_ELSEWHERE_MM)


def own_witness(values: Tables, *, other_years: bool) -> Witness:
    """The source itself, when it told of these days before or of those of another year.

    Parameters
    ----------
    values
        Its usable values.
    other_years
        Whether they are of another year.
    """
    every = ("rain_mm", "wind_m_s", "solar_mj", *BY_DIFFERENCE)
    return Witness(values, every, other_years=other_years)


def check_scale(sheet: Sheet, independent: Sequence[Witness], own: Witness | None) -> None:
    """Mark a quantity of a cell as a whole where it is on another scale than all that is known.

    Parameters
    ----------
    sheet
        The values.
    independent
        One that agrees acquits, whatever the others say.
    own
        What we had of the source itself. It is asked only where no other knows: whichever of
        the two is wrong, the marked one is believed when it comes again.
    """
    for name in sheet.quantities:
        # Temperatures with those out of all limits: of a summer in degF that is most of them.
        all_of_it = name in BY_DIFFERENCE
        values = sheet.values[sheet.row(name)] if all_of_it else sheet.usable(name)
        heard = [_hear(name, values, one) for one in independent if name in one.values]
        knows, wrong = _together(heard, len(values))
        if own is not None and name in own.values:
            own_knows, own_wrong = _hear(name, values, own)
            wrong |= ~knows & own_knows & own_wrong
        sheet.mark(name, wrong[:, None] & ~np.isnan(values), Flag.SCALE)


def _together(heard: Sequence[tuple[Mask, Mask]], cells: int) -> tuple[Mask, Mask]:
    """Whether any witness knows, and whether all that do say that it is wrong."""
    knows, agrees = np.zeros(cells, np.bool_), np.zeros(cells, np.bool_)
    for one_knows, one_wrong in heard:
        knows |= one_knows
        agrees |= one_knows & ~one_wrong
    return knows, knows & ~agrees


def _hear(name: str, values: Table, witness: Witness) -> tuple[Mask, Mask]:
    """Whether a witness can tell, by cell, and whether it contradicts."""
    other = witness.values[name]
    both = ~np.isnan(values) & ~np.isnan(other)
    count = both.sum(axis=1)
    knows = (count >= FEWEST_DAYS) & (name in witness.speaks_of)
    if name in BY_DIFFERENCE:
        return knows, abs(_middle(np.where(both, values - other, np.nan))) > APART_C
    ours = np.where(both, values, 0.0).sum(axis=1)
    theirs = np.where(both, other, 0.0).sum(axis=1)
    if name == "rain_mm" and witness.other_years:
        most, wettest = _peak(values), _peak(other)
        return knows & (wettest > witness.least_rain_mm), wettest > PEAK_TIMES * most
    more, less = np.maximum(ours, theirs), np.minimum(ours, theirs)
    if name == "rain_mm":
        return knows & (more > witness.least_rain_mm), more > RAIN_TIMES * less
    return knows, more > TIMES[name] * less


def _peak(values: Table) -> NDArray[np.float64]:
    """The largest value of each cell, below 0 where there is none."""
    return np.asarray(np.nan_to_num(values, nan=-1.0).max(axis=1, initial=-1.0), np.float64)


def _middle(values: Table) -> NDArray[np.float64]:
    """The median of each cell's known values, which no single odd one moves; 0 without any."""
    ranked = np.sort(values, axis=1)  # NaN comes last
    middle = np.maximum(np.sum(~np.isnan(values), axis=1) - 1, 0) // 2
    found: NDArray[np.float64] = ranked[np.arange(len(ranked), dtype=np.intp), middle]
    return np.where(np.isnan(found), 0.0, found)
