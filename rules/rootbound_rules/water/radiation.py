"""Sun: radiation above the air, at the ground, and what the ground keeps (FAO-56 chapter 3)."""

from __future__ import annotations

import math

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip, root

SOLAR_CONSTANT = 0.0820
"""MJ m-2 min-1, Eq. 21."""
STEFAN_BOLTZMANN = 4.903e-9
"""MJ K-4 m-2 d-1, Eq. 39."""


def radians(degrees: float) -> float:
    """Return an angle in radians."""
    return math.pi / 180.0 * degrees  # Eq. 22


def sun_distance(day_of_year: int) -> float:
    """Inverse relative distance of earth and sun. [-]"""
    return 1.0 + 0.033 * math.cos(2.0 * math.pi / 365.0 * day_of_year)  # Eq. 23


def declination(day_of_year: int) -> float:
    """Solar declination. [rad]"""
    return 0.409 * math.sin(2.0 * math.pi / 365.0 * day_of_year - 1.39)  # Eq. 24


def sunset_angle(lat_rad: float, declination_rad: float) -> float:
    """Sunset hour angle; 0 in polar night, pi in polar day. [rad]"""
    return math.acos(clip(-math.tan(lat_rad) * math.tan(declination_rad), -1.0, 1.0))  # Eq. 25


def extraterrestrial(lat_deg: float, day_of_year: int) -> float:
    """Radiation above the air on a day. [MJ m-2 d-1]"""
    lat, dec = radians(lat_deg), declination(day_of_year)
    ws = sunset_angle(lat, dec)
    geometry = ws * math.sin(lat) * math.sin(dec) + math.cos(lat) * math.cos(dec) * math.sin(ws)
    scale = 24.0 * 60.0 / math.pi * SOLAR_CONSTANT
    return scale * sun_distance(day_of_year) * geometry  # Eq. 21


def daylight_hours(lat_deg: float, day_of_year: int) -> float:
    """Longest possible sunshine of a day. [h]"""
    return 24.0 / math.pi * sunset_angle(radians(lat_deg), declination(day_of_year))  # Eq. 34


def from_sunshine(
    ra_mj: float, sunshine_h: float, daylight_h: float, a: float = 0.25, b: float = 0.50
) -> float:
    """Radiation at the ground from hours of sunshine. [MJ m-2 d-1]"""
    return (a + b * sunshine_h / daylight_h) * ra_mj  # Eq. 35


@equation
def clear_sky(ra_mj: float, elevation_m: float) -> float:
    """Radiation at the ground under a clear sky. [MJ m-2 d-1]"""
    return (0.75 + 2e-5 * elevation_m) * ra_mj  # Eq. 37


@equation
def from_temperatures(
    ra_mj: float, tmax_c: float, tmin_c: float, krs: float, rso_mj: float
) -> float:
    """Radiation at the ground from the temperature range, never above clear sky. [MJ m-2 d-1]"""
    return min(krs * root(max(tmax_c - tmin_c, 0.0)) * ra_mj, rso_mj)  # Eq. 50


@equation
def net_shortwave(rs_mj: float) -> float:
    """Shortwave radiation that grass keeps. [MJ m-2 d-1]"""
    return (1.0 - 0.23) * rs_mj  # Eq. 38


@equation
def net_longwave(
    tmax_c: float, tmin_c: float, vapour_kpa: float, rs_mj: float, rso_mj: float
) -> float:
    """Longwave radiation that leaves the ground. [MJ m-2 d-1]

    Notes
    -----
    FAO-56 limits ``Rs/Rso`` to 1 from above only; under thick cloud the ground would then gain
    longwave, so the lower limit of 0.3 of ``asce_ewri_2005`` is taken as well.

    References
    ----------
    ``asce_ewri_2005``.
    """
    emitted = STEFAN_BOLTZMANN * 0.5 * ((tmax_c + 273.16) ** 4 + (tmin_c + 273.16) ** 4)
    cloud = 1.35 * clip(rs_mj / max(rso_mj, 1e-3), 0.3, 1.0) - 0.35
    return emitted * (0.34 - 0.14 * root(vapour_kpa)) * cloud  # Eq. 39


def monthly_soil_heat(t_next_c: float, t_previous_c: float) -> float:
    """Soil heat flux of a month from the mean temperatures around it. [MJ m-2 d-1]"""
    return 0.07 * (t_next_c - t_previous_c)  # Eq. 43
