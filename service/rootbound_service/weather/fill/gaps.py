"""How long the gaps of a series are, and a straight line across the short ones."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.fill.draft import ROWS, Draft, How, Mask

INTERPOLATED = ("tmax_c", "tmin_c", "dewpoint_c")
"""Rain, radiation and wind of a day say nothing about the next."""
MOST_INTERPOLATED = 2
"""Longest gap that is bridged. [days]"""
MOST_ESTIMATED = 14
"""A longer gap is left open: what the climate would say of a month is no weather. Our choice."""


def between(real: Mask) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Nearest real day before and after each day, itself included.

    Parameters
    ----------
    real
        Shape (place, day).

    Returns
    -------
    tuple of array
        -1 where none comes before, the number of days where none comes after.
    """
    days = np.arange(real.shape[1], dtype=np.intp)
    before = np.maximum.accumulate(np.where(real, days, -1), axis=1)
    ahead = np.where(real, days, real.shape[1])[:, ::-1]
    return before, np.minimum.accumulate(ahead, axis=1)[:, ::-1]


def short_gaps(real: Mask, most: int) -> Mask:
    """Days within gaps of at most so many days.

    Parameters
    ----------
    real
        Shape (place, day).
    most
        Longest gap. [days]
    """
    found = np.zeros(real.shape, np.bool_)
    rows = np.flatnonzero(~real.all(axis=1))
    if len(rows):
        before, after = between(real[rows])
        found[rows] = ~real[rows] & (after - before - 1 <= most)
    return found


def inside(real: Mask) -> Mask:
    """Days from the first real day to the last one, by place.

    Parameters
    ----------
    real
        Shape (place, day).
    """
    days = np.arange(real.shape[1], dtype=np.intp)
    any_day = real.any(axis=1, keepdims=True)
    first = real.argmax(axis=1)[:, None]
    last = real.shape[1] - 1 - real[:, ::-1].argmax(axis=1)[:, None]
    return np.asarray(any_day & (days >= first) & (days <= last), np.bool_)


def interpolate(draft: Draft, within: Mask) -> None:
    """Bridge gaps of a day or two in temperature and dew point, between real values only.

    Parameters
    ----------
    draft
        The series; it is added to.
    within
        Days that may be filled, shape (place, day).
    """
    for name in INTERPOLATED:
        row = ROWS[name]
        real = draft.real(row)
        place, day = np.nonzero(short_gaps(real, MOST_INTERPOLATED) & within)
        if not len(place):
            continue
        rows, which = np.unique(place, return_inverse=True)
        before, after = between(real[rows])
        left, right = before[which, day], after[which, day]
        both = (left >= 0) & (right < real.shape[1])
        place, day, left, right = (part[both] for part in (place, day, left, right))
        low, high = draft.values[row, place, left], draft.values[row, place, right]
        line = np.full(real.shape, np.nan)
        line[place, day] = low + (high - low) * (day - left) / (right - left)
        draft.put(row, within, line, How.INTERPOLATED)
