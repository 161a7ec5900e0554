"""What is usual at a place by day of the year, from its own past years.

Each date has a slot of its own, the values of 7 days to either side are pooled over all
years (30 years make 450 values), and means are smoothed by three harmonics of the year.
Percentiles of rain are those of sums over a week, a fortnight and a month: a single day's
say little.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from rootbound_service.weather.calendar_slots import by_year, months_of, pooled
from rootbound_service.weather.slot_statistics import (
    REACH,
    Usual,
    Values,
    moments,
    ranked,
    with_leap_day,
)

PERCENTILES = (5, 10, 25, 50, 75, 90, 95)
SUM_DAYS = (7, 14, 30)
RAIN_REACH = 14
"""The same for the wet days' percentile: a window of 29 days, Durre et al. 2010 (from memory)."""
WET_MM = 1.0
"""A wet day, as the WMO's climate indices count it."""
FEWEST_WET = 20
"""With fewer wet days in the window there is no percentile of them: from memory of the same."""
FEWEST_YEARS = 5
"""With fewer years nothing is called unusual. Our choice."""
DAYS_OF_A_YEAR = 300
"""A year with as many days of both temperatures counts as one. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Normals:
    """What is usual in some cells; slots as in ``calendar_slots``, NaN where not known."""

    quantities: tuple[str, ...]
    years: NDArray[np.int16]
    """Years behind it, shape (cell,)."""
    mean: Usual
    """Smoothed, shape (quantity, cell, slot); so is ``sd``."""
    sd: Usual
    percentiles: Usual
    """By :data:`PERCENTILES`, shape (percentile, quantity, cell, slot)."""
    month_low: Usual
    """Lowest value of each calendar month, shape (quantity, cell, month)."""
    month_high: Usual
    wet_fraction: Usual
    """Share of days that are wet, shape (cell, slot). [-]"""
    wet_p95: Usual
    """95th percentile of rain on wet days, shape (cell, slot). [mm]"""
    rain_sums: Usual
    """Percentiles of sums ending on the day, shape (span, percentile, cell, slot). [mm]"""

    def median(self, quantity: str) -> Usual:
        """Middle value of a quantity, shape (cell, slot)."""
        row = self.quantities.index(quantity)
        return np.asarray(self.percentiles[PERCENTILES.index(50), row], np.float32)


def normals_of(values: Values, start: date, quantities: Sequence[str]) -> Normals:
    """Work out what is usual.

    Parameters
    ----------
    values
        Usable values of past days, shape (quantity, cell, day); NaN is missing.
    start
        The first day.
    quantities
        Names along the first axis.

    Returns
    -------
    Normals
        From however many years there are: ``years`` tells how far to trust it.
    """
    names = tuple(quantities)
    parts = [_of_cell(values[:, cell : cell + 1], start, names) for cell in range(values.shape[1])]
    return stack(parts)


def stack(parts: Sequence[Normals]) -> Normals:
    """Put the normals of several cells together in order.

    Parameters
    ----------
    parts
        At least one, all of the same quantities.
    """

    def along(name: str, axis: int) -> NDArray[np.float32]:
        return np.concatenate([getattr(part, name) for part in parts], axis=axis)

    return Normals(
        parts[0].quantities,
        np.concatenate([part.years for part in parts]),
        mean=along("mean", 1),
        sd=along("sd", 1),
        percentiles=along("percentiles", 2),
        month_low=along("month_low", 1),
        month_high=along("month_high", 1),
        wet_fraction=along("wet_fraction", 0),
        wet_p95=along("wet_p95", 0),
        rain_sums=along("rain_sums", 2),
    )


def _of_cell(values: Values, start: date, quantities: tuple[str, ...]) -> Normals:
    """The normals of one cell."""
    table = by_year(values, start)
    mean, sd = moments(values, start)
    low, high = _extremes(values, start)
    rain = np.full((1, *values.shape[2:]), np.nan)
    if "rain_mm" in quantities:
        rain = values[quantities.index("rain_mm")]
    wet_fraction, wet_p95 = _wet(by_year(rain, start))
    sums = [
        ranked(pooled(by_year(_running(rain, span), start), REACH), PERCENTILES)
        for span in SUM_DAYS
    ]
    return Normals(
        quantities,
        _years(table),
        mean=mean.astype(np.float32),
        sd=sd.astype(np.float32),
        percentiles=ranked(pooled(with_leap_day(table), REACH), PERCENTILES),
        month_low=low,
        month_high=high,
        wet_fraction=wet_fraction,
        wet_p95=wet_p95,
        rain_sums=np.stack(sums),
    )


def _years(table: Values) -> NDArray[np.int16]:
    """How many years have most of their days, by cell: of the first quantity."""
    known = np.sum(~np.isnan(table[0]), axis=-1)
    return np.asarray(np.sum(known >= DAYS_OF_A_YEAR, axis=-1), np.int16)


def _wet(rain: Values) -> tuple[Usual, Usual]:
    """Share of wet days, and how much a very wet one brings; shape (cell, slot) each."""
    near = pooled(rain, REACH)
    known = np.sum(~np.isnan(near), axis=-1)
    share = np.sum(near >= WET_MM, axis=-1) / np.where(known > 0, known, np.nan)
    wide = pooled(rain, RAIN_REACH)
    wet = np.where(wide >= WET_MM, wide, np.nan)
    enough = np.sum(~np.isnan(wet), axis=-1) >= FEWEST_WET
    return share.astype(np.float32), np.where(enough, ranked(wet, (95,))[0], np.float32(np.nan))


def _running(rain: Values, span: int) -> Values:
    """Sum of the days up to each day; NaN where one of them is missing."""
    sums = np.full(rain.shape, np.nan)
    if rain.shape[-1] >= span:
        sums[..., span - 1 :] = sliding_window_view(rain, span, axis=-1).sum(axis=-1)
    return sums


def _extremes(values: Values, start: date) -> tuple[Usual, Usual]:
    """Lowest and highest value of each calendar month, shape (quantity, cell, month)."""
    months = months_of(start, values.shape[-1])
    low, high = (np.full((*values.shape[:-1], 12), np.nan, np.float32) for _ in range(2))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a month without any value stays NaN
        for month in range(1, 13):
            some = values[..., months == month]
            if some.shape[-1]:
                low[..., month - 1] = np.nanmin(some, axis=-1)
                high[..., month - 1] = np.nanmax(some, axis=-1)
    return low, high
