"""A value against what another source says of the same day, and of the days beside it."""

from __future__ import annotations

import numpy as np

from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.sheet import Mask, Sheet, Table

# Judgement, no published limit: two sources this far apart do not tell of the same weather.
FAR_C = 5.0
HEAVY_MM = 25.0
# What counts as no rain for a source whose cell is wide: the trace below a wet day. Our choice.
DRY_MM = 0.254

COMPARED = ("tmax_c", "tmin_c", "rain_mm")


def check_cross(sheet: Sheet, other: dict[str, Table]) -> None:
    """Mark temperatures and rain that another source contradicts.

    Parameters
    ----------
    sheet
        The values.
    other
        By quantity, the other source's usable values of the same days.
    """
    for name in set(COMPARED).intersection(sheet.quantities, other):
        sheet.mark(name, contradicts(name, sheet.usable(name), other[name]), Flag.CROSS)


def contradicts(name: str, own: Table, other: Table) -> Mask:
    """Tell where two sources contradict each other, also if their days begin at other hours.

    Parameters
    ----------
    name
        One of the quantities compared; of any other there is no contradiction.
    own, other
        Shape (..., day); NaN is missing.

    Returns
    -------
    array of bool
        True only where the other source is as far off on the day before and the day after:
        a source whose day ends at another hour moves rain and extremes by a day. Heavy
        rain is judged only where the days on both sides are known.
    """
    before, after = _moved(other, 1), _moved(other, -1)
    if name == "rain_mm":
        heavy = (own > HEAVY_MM) & _all_dry(before, other, after)
        own_before, own_after = _moved(own, 1), _moved(own, -1)
        return heavy | ((other > HEAVY_MM) & _all_dry(own_before, own, own_after))
    if name not in COMPARED:
        return np.zeros(own.shape, np.bool_)
    far = abs(own - other) > FAR_C
    near = (abs(own - before) <= FAR_C) | (abs(own - after) <= FAR_C)
    return far & ~near


def _all_dry(*days: Table) -> Mask:
    """Whether all of these are known and without rain."""
    return np.asarray(np.logical_and.reduce([day < DRY_MM for day in days]), np.bool_)


def _moved(values: Table, by: int) -> Table:
    """The same values a day later or earlier, NaN where there is none."""
    moved = np.full(values.shape, np.nan)
    if by > 0:
        moved[..., by:] = values[..., :-by]
    else:
        moved[..., :by] = values[..., -by:]
    return moved
