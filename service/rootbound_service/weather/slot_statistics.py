"""Statistics by day of the year: the days around a date pooled, means smoothed by harmonics."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from rootbound_service.weather.calendar_slots import LEAP_DAY, SLOTS, by_year

REACH = 7
"""Days to either side of a date that are pooled with it."""
HARMONICS = 3

Values = NDArray[np.float64]
Usual = NDArray[np.float32]


def moments(values: Values, start: date) -> tuple[Values, Values]:
    """Mean and standard deviation by slot, pooled and smoothed.

    Parameters
    ----------
    values
        Shape (..., day).
    start
        The first day.

    Returns
    -------
    tuple of array
        Each of shape (..., slot).
    """
    table = with_leap_day(by_year(values, start))
    known = ~np.isnan(table)
    plain = np.where(known, table, 0.0)
    middle = (
        plain.sum(axis=(-2, -1), keepdims=True)
        / np.maximum(known.sum((-2, -1)), 1)[..., None, None]
    )
    away = np.where(known, table - middle, 0.0)  # nearer to 0: squares lose no digits
    count = _around(known.sum(axis=-2).astype(np.float64))
    total, squares = _around(away.sum(axis=-2)), _around((away**2).sum(axis=-2))
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = total / np.where(count > 0, count, np.nan)
        variance = (squares - count * mean**2) / np.where(count > 1, count - 1, np.nan)
    sd = np.sqrt(np.maximum(variance, 0.0))
    return smoothed(mean) + middle[..., 0], np.maximum(smoothed(sd), 0.0)


def smoothed(by_slot: Values) -> Values:
    """Keep the mean and the first three harmonics of the year.

    Parameters
    ----------
    by_slot
        Shape (..., slot); a row with a slot unknown is left as it is.
    """
    waves = np.fft.rfft(np.nan_to_num(by_slot), axis=-1)
    waves[..., HARMONICS + 1 :] = 0.0
    whole = ~np.isnan(by_slot).any(axis=-1, keepdims=True)
    return np.where(whole, np.fft.irfft(waves, SLOTS, axis=-1), by_slot)


def with_leap_day(table: Values) -> Values:
    """Fill 29 February of common years with the mean of its neighbours, so that it weighs alike.

    Parameters
    ----------
    table
        Shape (..., year, slot).
    """
    filled = table.copy()
    beside = (table[..., LEAP_DAY - 1] + table[..., LEAP_DAY + 1]) / 2
    filled[..., LEAP_DAY] = np.where(np.isnan(table[..., LEAP_DAY]), beside, table[..., LEAP_DAY])
    return filled


def ranked(sample: Values, percentiles: Sequence[int]) -> Usual:
    """Percentiles along the last axis, between ranks in a straight line; NaN is left out.

    Parameters
    ----------
    sample
        Shape (..., value).
    percentiles
        Which, 0 to 100.

    Returns
    -------
    array
        Shape (percentile, ...).
    """
    rising = np.sort(sample, axis=-1)  # NaN comes last
    known = np.sum(~np.isnan(rising), axis=-1)
    found = np.full((len(percentiles), *known.shape), np.nan, np.float32)
    for row, percent in enumerate(percentiles):
        place = np.maximum(known - 1, 0) * (percent / 100)
        below = np.floor(place).astype(np.intp)
        above = np.minimum(below + 1, np.maximum(known - 1, 0))
        low = np.take_along_axis(rising, below[..., None], -1)[..., 0]
        high = np.take_along_axis(rising, above[..., None], -1)[..., 0]
        found[row] = low + (high - low) * (place - below)
    return found


def _around(by_slot: Values) -> Values:
    """Sum over the window around each slot; the year is a ring."""
    ring = np.concatenate([by_slot[..., -REACH:], by_slot, by_slot[..., :REACH]], axis=-1)
    windows = sliding_window_view(ring, 2 * REACH + 1, axis=-1)
    return np.asarray(windows.sum(axis=-1), np.float64)
