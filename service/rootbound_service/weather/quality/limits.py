"""Hard limits, and the naught of a scale in place of a measurement."""

from __future__ import annotations

import numpy as np

from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.sheet import Sheet, Table

# Limits of the agweather-qaqc documentation: temperature, wind, rain, radiation 5-700 W m-2,
# vapour pressure to 8 kPa (the dew point's upper end); the dew point's lower end is our choice.
LIMITS = {
    "tmax_c": (-50.0, 60.0),
    "tmin_c": (-50.0, 60.0),
    "rain_mm": (0.0, 610.0),
    "solar_mj": (0.4, 60.0),
    "dewpoint_c": (-60.0, 41.5),
    "wind_m_s": (0.01, 35.0),
}

# GHCN-Daily naught check: both temperatures 0 degC, or 0 degF.
NAUGHTS_C = (0.0, -17.8)
# A stored float32 is not exact; sources give two decimals. -17.8 is 0 degF (-17.78) as well.
NAUGHT_ROOM_C = 0.025

DARKEST_OF_RSO = 0.04
"""3 % of the radiation above the air, whose clear sky is 75 %: from memory, no source at hand."""


def check_limits(sheet: Sheet, rso_mj: Table | None) -> None:
    """Mark what no place on earth has.

    Parameters
    ----------
    sheet
        The values.
    rso_mj
        Radiation under a clear sky, or None. Where even that is little (a northern
        winter), the lower limit of radiation gives way. [MJ m-2 d-1]
    """
    for name in set(LIMITS).intersection(sheet.quantities):
        low, high = LIMITS[name]
        least: Table | float = low
        if name == "solar_mj" and rso_mj is not None:
            least = np.fmin(low, DARKEST_OF_RSO * rso_mj)
        values = sheet.usable(name)
        sheet.mark(name, (values < least) | (values > high), Flag.LIMIT)


def check_naught(sheet: Sheet) -> None:
    """Mark both temperatures of a day that has the naught of a scale in both.

    Parameters
    ----------
    sheet
        The values.
    """
    if not sheet.has("tmax_c", "tmin_c"):
        return
    tmax, tmin = sheet.usable("tmax_c"), sheet.usable("tmin_c")
    for naught in NAUGHTS_C:
        both = (abs(tmax - naught) < NAUGHT_ROOM_C) & (abs(tmin - naught) < NAUGHT_ROOM_C)
        for name in ("tmax_c", "tmin_c"):
            sheet.mark(name, both, Flag.NAUGHT)
