"""NASA POWER's names and units, and ours: the one place where both are known."""

from __future__ import annotations

PARAMETERS = {
    "T2M_MAX": "tmax_c",
    "T2M_MIN": "tmin_c",
    "PRECTOTCORR": "rain_mm",
    "ALLSKY_SFC_SW_DWN": "solar_mj",
    "T2MDEW": "dewpoint_c",
    "WS2M": "wind_m_s",
}

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
