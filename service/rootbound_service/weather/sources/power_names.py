"""NASA POWER's names and units, and ours: the one place where both are known."""

from __future__ import annotations

import re

from rootbound_service.weather.cells import Grid

GRID = Grid("nasa_power", -90.0, -180.0, 0.5, 0.625, 361, 576, wraps=True)
"""The cells of MERRA-2, that temperature, rain, dew point and wind come in."""

PARAMETERS = {
    "T2M_MAX": "tmax_c",
    "T2M_MIN": "tmin_c",
    "PRECTOTCORR": "rain_mm",
    "ALLSKY_SFC_SW_DWN": "solar_mj",
    "T2MDEW": "dewpoint_c",
    "WS2M": "wind_m_s",
}
OURS = tuple(PARAMETERS.values())
SOLAR = "ALLSKY_SFC_SW_DWN"
"""The one that comes in cells of a degree, centred at the halves [centres from memory]."""

_TEMPERATURE = {"C": 1.0}
_RAIN = {"mm/day": 1.0}
_WIND = {"m/s": 1.0}
# One name, another unit in each of the service's communities (AG, RE, SB).
_RADIATION = {"MJ/m^2/day": 1.0, "kW-hr/m^2/day": 3.6, "W/m^2": 0.0864}

FACTORS: dict[str, dict[str, float]] = {
    "tmax_c": _TEMPERATURE,
    "tmin_c": _TEMPERATURE,
    "rain_mm": _RAIN,
    "solar_mj": _RADIATION,
    "dewpoint_c": _TEMPERATURE,
    "wind_m_s": _WIND,
}
"""Unit as the service writes it -> factor to ours."""

_NEAR_REAL_TIME = ("GEOSIT", "FLASHFLUX")


def is_near_real_time(origin: str) -> bool:
    """Tell whether a data set is one that a final one replaces later.

    Parameters
    ----------
    origin
        Its name in the service's words, such as "GEOS-IT" or "FLASHFLUX".
    """
    return re.sub(r"[^A-Z]", "", origin.upper()).startswith(_NEAR_REAL_TIME)
