"""Brings another source's values to the level of the preferred one, by the days both have."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.fill.draft import Mask, Table

# How each quantity is brought to level. Rain is taken as it is: a ratio of two rains of a
# month says more about which storm hit which cell than about the sources.
BY_DIFFERENCE = frozenset({"tmax_c", "tmin_c", "dewpoint_c"})
BY_RATIO = frozenset({"solar_mj", "wind_m_s"})

COMMON_DAYS = 30
"""The last so many days that both have. Our choice."""
FEWEST_COMMON = 10
"""With fewer the value is taken as it is, and is suspect. Our choice."""
MOST_DIFFERENCE_C = 5.0
"""Two sources further apart do not tell of the same place (see ``quality.cross``): our choice."""
RATIO_BOUNDS = (0.5, 2.0)
"""Our choice."""

SHIFT_DAYS = 60
SHIFT_CLEARER = 0.15
"""Rain must fit a day off by so much better a correlation to say that days begin otherwise."""


def levelled(quantity: str, own: Table, other: Table) -> tuple[Table, Mask]:
    """Another source's values where ours are missing, brought to our level.

    Parameters
    ----------
    quantity
        Name of the quantity.
    own, other
        Usable values of both, shape (place, day).

    Returns
    -------
    tuple
        The values, NaN where not needed or not known, and where they rest on too few common
        days to be brought to level. The common days are the last ones before the gap; at
        the very beginning of a series the first ones after it.
    """
    wanted = np.isnan(own) & ~np.isnan(other)
    found, thin = np.full(own.shape, np.nan), np.zeros(own.shape, np.bool_)
    place, day = np.nonzero(wanted)
    found[place, day] = other[place, day]
    if quantity not in BY_DIFFERENCE | BY_RATIO or not len(place):
        return found, thin
    count, ours, theirs = _recent_sums(own, other, place, day)
    enough = count >= FEWEST_COMMON
    thin[place, day] = ~enough
    if quantity in BY_DIFFERENCE:
        shift = (ours - theirs) / np.maximum(count, 1)
        shift = np.clip(shift, -MOST_DIFFERENCE_C, MOST_DIFFERENCE_C)
        found[place, day] += np.where(enough, shift, 0.0)
    else:
        ratio = np.clip(ours / np.where(theirs > 0, theirs, np.nan), *RATIO_BOUNDS)
        found[place, day] *= np.where(enough & ~np.isnan(ratio), ratio, 1.0)
    return found, thin


def day_shift(own: Table, other: Table) -> NDArray[np.int8]:
    """Tell whether the other source's rain falls a day earlier or later than ours.

    Parameters
    ----------
    own, other
        Usable rain of both, shape (place, day). [mm]

    Returns
    -------
    array
        By place: 1 where it comes a day later, -1 a day earlier, 0 where it fits best as
        it is or fewer than 60 days can be compared.
    """
    same = _fit(own, other)
    later = _fit(own[:, :-1], other[:, 1:])
    earlier = _fit(own[:, 1:], other[:, :-1])
    shift = np.zeros(len(own), np.int8)
    shift[(later > same + SHIFT_CLEARER) & (later >= earlier)] = 1
    shift[(earlier > same + SHIFT_CLEARER) & (earlier > later)] = -1
    return shift


def _recent_sums(
    own: Table, other: Table, place: NDArray[np.intp], day: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """For each gap: how many common days serve it, and the sums of both sources over them."""
    common = ~np.isnan(own) & ~np.isnan(other)
    so_far = np.cumsum(common, axis=1)
    totals = so_far[:, -1]
    first_of: NDArray[np.intp] = np.cumsum(totals) - totals
    at = np.append(np.nonzero(common)[1], 0)  # the day of each common day, place by place
    end = np.maximum(so_far[place, day], np.minimum(COMMON_DAYS, totals[place]))
    begin = np.maximum(end - COMMON_DAYS, 0)
    any_day = end > begin
    offset = np.where(any_day, first_of[place], 0)
    from_day = np.where(any_day, at[offset + np.where(any_day, begin, 0)], 0)
    to_day = np.where(any_day, at[offset + np.where(any_day, end - 1, 0)] + 1, 0)
    ours, theirs = (_sums_to(np.where(common, values, 0.0)) for values in (own, other))
    return (
        end - begin,
        ours[place, to_day] - ours[place, from_day],
        theirs[place, to_day] - theirs[place, from_day],
    )


def _sums_to(values: Table) -> Table:
    """Sum of the days before each day, one column more than there are days."""
    return np.concatenate([np.zeros((len(values), 1)), np.cumsum(values, axis=1)], axis=1)


def _fit(own: Table, other: Table) -> NDArray[np.float64]:
    """Correlation by place over the common days; 0 where there are few."""
    both = ~np.isnan(own) & ~np.isnan(other)
    count = np.maximum(both.sum(axis=1), 1)
    x, y = np.where(both, own, 0.0), np.where(both, other, 0.0)
    x = np.where(both, x - (x.sum(axis=1) / count)[:, None], 0.0)
    y = np.where(both, y - (y.sum(axis=1) / count)[:, None], 0.0)
    spread = np.sqrt((x**2).sum(axis=1) * (y**2).sum(axis=1))
    fit = (x * y).sum(axis=1) / np.where(spread > 0, spread, 1.0)
    return np.where(count >= SHIFT_DAYS, fit, 0.0)
