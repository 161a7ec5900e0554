"""Makes our quantities of gridMET's: units, the height of the wind, the dew point.

The dew point comes from the day's humidities, which needs no elevation; from specific humidity
it would need the air's pressure, and the daily set has no elevation to take that from.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.water.air import saturation, vapour_from_humidities, wind_at_2m
from rootbound_service.public.replies import odd
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.sources import gridmet_names as names
from rootbound_service.weather.sources.gridmet_names import Variable

ZERO_C_K = 273.15
MJ_PER_WATT_DAY = 0.0864
TO_2_M = wind_at_2m(1.0, names.WIND_HEIGHT_M)
"""FAO-56 Eq. 47, which is ASCE-EWRI Eq. 33."""
POSSIBLE_C = (-100.0, 100.0)
POSSIBLE = 1e4
"""No rain [mm], radiation [W m-2], wind [m s-1] or humidity [%] of a day is beyond."""

Numbers = NDArray[np.float64]

_vapour = np.vectorize(vapour_from_humidities, otypes=[np.float64])


def to_ours(theirs: Mapping[Variable, Numbers], who: str) -> Numbers:
    """Convert what the service gives into our quantities, stacked in front.

    Parameters
    ----------
    theirs
        Values of every variable in its own unit, all of one shape, NaN where missing.
    who
        The service and the cells, for the error's sentence.

    Returns
    -------
    NDArray
        Shape (quantity, ...), the quantities in the order of ``QUANTITY_NAMES``.

    Raises
    ------
    Unavailable
        If a number is one that no weather has.
    """
    tmax, tmin = theirs[names.TMAX] - ZERO_C_K, theirs[names.TMIN] - ZERO_C_K
    for variable, values in theirs.items():
        low, high = 0.0, POSSIBLE
        if variable in (names.TMAX, names.TMIN):
            low, high = POSSIBLE_C[0] + ZERO_C_K, POSSIBLE_C[1] + ZERO_C_K
        if ((values < low) | (values > high)).any():
            odd(who, f"{variable.short} holds a number that no weather has")
    ours = {
        "tmax_c": tmax,
        "tmin_c": tmin,
        "rain_mm": theirs[names.RAIN],
        "solar_mj": theirs[names.SOLAR] * MJ_PER_WATT_DAY,
        "dewpoint_c": dewpoint(tmax, tmin, theirs[names.RHMAX], theirs[names.RHMIN]),
        "wind_m_s": theirs[names.WIND] * TO_2_M,
    }
    return np.stack([ours[name] for name in QUANTITY_NAMES])


def dewpoint(tmax_c: Numbers, tmin_c: Numbers, rhmax: Numbers, rhmin: Numbers) -> Numbers:
    """Dew point of the vapour pressure that FAO-56 Eq. 17 takes from the humidities. [degC]

    Parameters
    ----------
    tmax_c, tmin_c
        Highest and lowest temperature of the day. [degC]
    rhmax, rhmin
        Highest and lowest relative humidity. [%]

    Returns
    -------
    NDArray
        NaN where one of them is, or the air holds no vapour.
    """
    known = np.isfinite(tmax_c + tmin_c + rhmax + rhmin) & (rhmax + rhmin > 0)
    found = np.full(known.shape, np.nan)
    if known.any():
        vapour = _vapour(tmax_c[known], tmin_c[known], rhmax[known], rhmin[known])
        ratio = np.log(vapour / saturation(0.0))  # Eq. 14, that is Eq. 11 solved for T
        found[known] = 237.3 * ratio / (17.27 - ratio)
    return found
