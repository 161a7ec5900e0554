"""One day against the days before it: the same value again and again, or a jump."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.sheet import Mask, Sheet, Table, joined

# So many days of one value are stuck. GHCN-Daily takes 15 to 20 for stations read to a tenth or
# a whole degree; gridded values have two decimals, for which these are our choice.
STUCK_DAYS = {"tmax_c": 5, "tmin_c": 5, "dewpoint_c": 5, "wind_m_s": 4, "solar_mj": 3, "rain_mm": 3}
SAME = 0.005
# Drizzle repeats itself: less rain than a wet day's 1 mm is not looked at. Our choice.
STUCK_RAIN_MM = 1.0

# Limits of the kind of Estevez et al. 2011 and WMO-No. 8; the number is from memory.
STEP_C = 25.0


def check_stuck(sheet: Sheet, before: dict[str, Table]) -> None:
    """Mark every day of a run of one and the same value.

    Parameters
    ----------
    sheet
        The values.
    before
        By quantity, the days before, where they are known, shape (cell, earlier day).
    """
    for name in set(STUCK_DAYS).intersection(sheet.quantities):
        values = joined(before.get(name), sheet.usable(name))
        if name == "rain_mm":
            values = np.where(values >= STUCK_RAIN_MM, values, np.nan)
        runs = _runs(values, STUCK_DAYS[name])
        sheet.mark(name, runs[:, -sheet.values.shape[2] :], Flag.STUCK)


def check_step(sheet: Sheet, before: dict[str, Table]) -> None:
    """Mark a temperature that jumped from the day before, but not the jump back.

    Parameters
    ----------
    sheet, before
        As for :func:`check_stuck`.
    """
    for name in {"tmax_c", "tmin_c"}.intersection(sheet.quantities):
        values = joined(before.get(name), sheet.usable(name))
        jump = np.diff(values, axis=1, prepend=np.nan)
        far = np.where(abs(jump) > STEP_C, np.sign(jump), 0.0)
        back = np.zeros(far.shape, np.bool_)
        back[:, 1:] = far[:, 1:] * far[:, :-1] < 0
        marked = (far != 0) & ~back
        sheet.mark(name, marked[:, -sheet.values.shape[2] :], Flag.STEP)


def _runs(values: Table, least: int) -> Mask:
    """Every day that belongs to a run of at least so many equal values."""
    found = np.zeros(values.shape, np.bool_)
    if values.shape[1] < least:
        return found
    same = abs(np.diff(values, axis=1)) < SAME
    windows = sliding_window_view(same, least - 1, axis=1)
    begins: Mask = np.asarray(windows.all(axis=-1), np.bool_)
    for day in range(least):
        found[:, day : day + begins.shape[1]] |= begins
    return found
