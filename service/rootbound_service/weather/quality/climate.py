"""A value against what is usual at its place and time of year."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.calendar_slots import months_of, slots_of
from rootbound_service.weather.normals import FEWEST_YEARS, Normals
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.sheet import Mask, Sheet, Table
from rootbound_service.weather.slot_statistics import moments

# GHCN-Daily outlier check. A standard deviation below 1 degC (the tropics) counts as 1: ours.
OUTLIER_SD = 6.0
LEAST_SD_C = 1.0
# GHCN-Daily gap check.
GAP_C = 10.0
# Durre et al. 2010, from memory: 9 times the wet days' 95th percentile, 5 times in frost.
RAIN_TIMES = 9.0
RAIN_TIMES_IN_FROST = 5.0

CHECKED = ("tmax_c", "tmin_c", "dewpoint_c")


def check_climate(sheet: Sheet, start: date, normals: Normals) -> None:
    """Mark temperatures and rain far from what is usual.

    Parameters
    ----------
    sheet
        The values.
    start
        The first day.
    normals
        Of the cells, in their order. A cell with too few years is not checked.
    """
    days = sheet.values.shape[2]
    slots, months = slots_of(start, days), months_of(start, days) - 1
    enough = (normals.years >= FEWEST_YEARS)[:, None]
    for name in set(CHECKED).intersection(sheet.quantities, normals.quantities):
        row, values = normals.quantities.index(name), sheet.usable(name)
        low, high = normals.month_low[row][:, months], normals.month_high[row][:, months]
        sheet.mark(name, enough & ((values < low - GAP_C) | (values > high + GAP_C)), Flag.GAP)
        mean, sd = normals.mean[row][:, slots], normals.sd[row][:, slots]
        sheet.mark(name, enough & _outlying(sheet.usable(name), mean, sd), Flag.OUTLIER)
    if sheet.has("rain_mm") and "rain_mm" in normals.quantities:
        most = normals.wet_p95[:, slots] * _times(sheet)
        sheet.mark("rain_mm", enough & (sheet.usable("rain_mm") > most), Flag.RAIN_OUTLIER)


def check_own_climate(sheet: Sheet, start: date) -> None:
    """Mark temperatures of many years that stand alone among those same years.

    Parameters
    ----------
    sheet
        The values.
    start
        The first day. Fewer than five years are not checked.
    """
    days = sheet.values.shape[2]
    if days < FEWEST_YEARS * 365:
        return
    slots, months = slots_of(start, days), months_of(start, days)
    for name in set(CHECKED).intersection(sheet.quantities):
        values = sheet.usable(name)
        for month in range(1, 13):
            some = months == month
            alone = np.zeros(values.shape, np.bool_)
            alone[:, some] = _alone(values[:, some])
            sheet.mark(name, alone, Flag.GAP)
        values = sheet.usable(name)
        mean, sd = moments(values, start)
        sheet.mark(name, _outlying(values, mean[:, slots], sd[:, slots]), Flag.OUTLIER)


def _outlying(values: Table, mean: NDArray[np.floating], sd: NDArray[np.floating]) -> Mask:
    """Whether values are too many standard deviations from the mean."""
    far = abs(values - mean) > OUTLIER_SD * np.maximum(sd, LEAST_SD_C)
    return np.asarray(far, np.bool_)


def _times(sheet: Sheet) -> Table | float:
    """How many times the wet days' percentile is too much, by the temperature of the day."""
    if not sheet.has("tmax_c", "tmin_c"):
        return RAIN_TIMES
    frost = sheet.usable("tmax_c") + sheet.usable("tmin_c") < 0
    return np.where(frost, RAIN_TIMES_IN_FROST, RAIN_TIMES)


def _alone(values: Table) -> Mask:
    """Values parted by a wide gap from all that lie nearer to the middle, by cell."""
    ranked = np.sort(values, axis=1)  # NaN comes last
    known = np.sum(~np.isnan(ranked), axis=1)
    middle = known[:, None] // 2
    place = np.arange(ranked.shape[1] - 1, dtype=np.intp)
    wide = np.diff(ranked, axis=1) >= GAP_C
    above = wide & (place >= middle)
    below = wide & (place < middle)
    rows = np.arange(len(ranked), dtype=np.intp)
    first, last = above.argmax(axis=1), below.shape[1] - 1 - below[:, ::-1].argmax(axis=1)
    high = np.where(above.any(axis=1), ranked[rows, first], np.inf)
    low = np.where(below.any(axis=1), ranked[rows, last + 1], -np.inf)
    return (values > high[:, None]) | (values < low[:, None])
