"""Days of the year as 366 slots in which every date has its own, 29 February too."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

SLOTS = 366
LEAP_DAY = 59
"""Slot of 29 February, from 0."""


def slots_of(start: date, days: int) -> NDArray[np.intp]:
    """Give the slot of each of some consecutive days, from 0.

    Parameters
    ----------
    start, days
        The first day, and how many.
    """
    dates = np.datetime64(start) + np.arange(days)
    years = dates.astype("datetime64[Y]")
    of_year = (dates - years).astype(np.intp)
    next_year = (years + np.timedelta64(1, "Y")).astype("datetime64[D]")
    leap = (next_year - years.astype("datetime64[D]")).astype(int) == SLOTS
    return np.asarray(of_year + (~leap & (of_year >= LEAP_DAY)), np.intp)


def years_of(start: date, days: int) -> NDArray[np.intp]:
    """Give the year of each day, counted from the first one's.

    Parameters
    ----------
    start, days
        The first day, and how many.
    """
    dates = np.datetime64(start) + np.arange(days)
    years = dates.astype("datetime64[Y]").astype(np.intp)
    return np.asarray(years - years[0], np.intp)


def months_of(start: date, days: int) -> NDArray[np.intp]:
    """Give the month of each day, 1 to 12.

    Parameters
    ----------
    start, days
        The first day, and how many.
    """
    dates = np.datetime64(start) + np.arange(days)
    return dates.astype("datetime64[M]").astype(np.intp) % 12 + 1


def by_year(values: NDArray[np.float64], start: date) -> NDArray[np.float64]:
    """Lay consecutive days out as years of 366 slots.

    Parameters
    ----------
    values
        Shape (..., day).
    start
        The first day.

    Returns
    -------
    array
        Shape (..., year, slot), NaN where there is no such day.
    """
    days = values.shape[-1]
    years, slots = years_of(start, days), slots_of(start, days)
    table = np.full((*values.shape[:-1], int(years[-1]) + 1, SLOTS), np.nan)
    table[..., years, slots] = values
    return table


def pooled(table: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """Gather for each slot the values of the slots around it, over all years.

    Parameters
    ----------
    table
        Shape (..., year, slot); the year is a ring, 1 January has December beside it.
    reach
        Slots to either side.

    Returns
    -------
    array
        Shape (..., slot, year x (2 reach + 1)).
    """
    around = (np.arange(SLOTS)[:, None] + np.arange(-reach, reach + 1)) % SLOTS
    windows = np.moveaxis(table[..., around], -3, -2)  # (..., slot, year, window)
    return windows.reshape(*table.shape[:-2], SLOTS, -1)
