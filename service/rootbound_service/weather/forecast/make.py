"""The last look at a forecast before it is believed: physical limits, empty days, a mark."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import odd
from rootbound_service.weather.day import QUANTITY_NAMES, VITAL

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

POSSIBLE = {
    "tmax_c": (-90.0, 65.0),
    "tmin_c": (-90.0, 65.0),
    "rain_mm": (0.0, 2000.0),
    "solar_mj": (0.0, 50.0),
    "dewpoint_c": (-90.0, 45.0),
    "wind_m_s": (0.0, 100.0),
}
"""Beyond the world's records of a day; what is outside was sent by mistake, not forecast."""

VITAL_ROWS = [QUANTITY_NAMES.index(name) for name in VITAL]


def days_known(values: NDArray[np.float64], who: str) -> int:
    """Check what was read, and count the days up to the last with a vital value.

    Parameters
    ----------
    values
        Shape (quantity, member, day).
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        If a value is impossible, or no vital one is there.
    """
    for row, name in enumerate(QUANTITY_NAMES):
        low, high = POSSIBLE[name]
        beyond = (values[row] < low) | (values[row] > high)
        if beyond.any():
            odd(who, f"expects {name} of {float(values[row][beyond][0]):g}, which cannot be")
    known = np.flatnonzero(np.isfinite(values[VITAL_ROWS]).any(axis=(0, 1)))
    if known.size == 0:
        raise Unavailable(who, "the answer has no value for any coming day", retry_later=True)
    return int(known[-1]) + 1


def mark_of(start: date, values: NDArray[np.float64], made: NDArray[np.uint8]) -> str:
    """Hash of what a forecast says, whenever it was asked for.

    Parameters
    ----------
    start, values, made
        As in the forecast.
    """
    hashed = hashlib.sha256(start.isoformat().encode())
    hashed.update(np.ascontiguousarray(values.round(4)).tobytes())
    hashed.update(made.tobytes())
    return hashed.hexdigest()
