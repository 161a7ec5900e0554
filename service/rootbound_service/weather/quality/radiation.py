"""Radiation on the ground against what a clear sky lets through."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.water.radiation import clear_sky, extraterrestrial
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.limits import DARKEST_OF_RSO
from rootbound_service.weather.quality.sheet import Sheet, Table

# ASCE-EWRI 2005 compares with Rso; common practice allows 3 to 10 % over it. The generous end:
# the simple Rso of Eq. 37 is itself too low in dry, clean air.
CLEAR_SKY_MOST = 1.10
# Under a sun this low the simple Rso means little. Our choice.
CLEAR_SKY_WORTH_MJ = 1.0


def check_radiation(sheet: Sheet, rso_mj: Table) -> None:
    """Mark radiation brighter than a clear sky, or darker than the darkest day.

    Parameters
    ----------
    sheet
        The values.
    rso_mj
        Radiation under a clear sky, shape (cell, day). [MJ m-2 d-1]
    """
    if not sheet.has("solar_mj"):
        return
    solar = sheet.usable("solar_mj")
    wrong = (solar > CLEAR_SKY_MOST * rso_mj) | (solar < DARKEST_OF_RSO * rso_mj)
    sheet.mark("solar_mj", wrong & (rso_mj > CLEAR_SKY_WORTH_MJ), Flag.RADIATION)


def clear_sky_mj(
    lat: NDArray[np.float64], elevation_m: NDArray[np.float64], start: date, days: int
) -> Table:
    """Radiation under a clear sky, FAO-56 Eq. 37. [MJ m-2 d-1]

    Parameters
    ----------
    lat, elevation_m
        Of each cell. [deg, m]
    start, days
        The first day, and how many.

    Returns
    -------
    array
        Shape (cell, day).
    """
    ra = above_the_air_mj(lat, start, days)
    share = np.array([clear_sky(1.0, float(height)) for height in elevation_m])
    return np.asarray(ra * share[:, None], np.float64)


def above_the_air_mj(lat: NDArray[np.float64], start: date, days: int) -> Table:
    """Radiation above the air, FAO-56 Eq. 21. [MJ m-2 d-1]

    Parameters
    ----------
    lat
        Of each cell. [deg]
    start, days
        The first day, and how many.

    Returns
    -------
    array
        Shape (cell, day).
    """
    latitudes, which = np.unique(lat, return_inverse=True)
    by_lat = np.stack([_year(float(one)) for one in latitudes])
    dates = np.datetime64(start) + np.arange(days)
    of_year = (dates - dates.astype("datetime64[Y]")).astype(int)
    return by_lat[which][:, of_year]


@lru_cache(maxsize=4096)
def _year(lat: float) -> NDArray[np.float64]:
    """Radiation above the air on days 1 to 366 of a year at a latitude."""
    return np.array([extraterrestrial(lat, day) for day in range(1, 367)])
