"""Air: pressure, vapour pressure and its slope (FAO-56 chapter 3)."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import exp, power


@equation
def pressure(elevation_m: float) -> float:
    """Atmospheric pressure at ``elevation_m``. [kPa]"""
    return 101.3 * power((293.0 - 0.0065 * elevation_m) / 293.0, 5.26)  # Eq. 7


@equation
def psychrometric(pressure_kpa: float) -> float:
    """Psychrometric constant. [kPa degC-1]"""
    return 0.665e-3 * pressure_kpa  # Eq. 8


@equation
def saturation(temperature_c: float) -> float:
    """Saturation vapour pressure. [kPa]"""
    return 0.6108 * exp(17.27 * temperature_c / (temperature_c + 237.3))  # Eq. 11


@equation
def mean_saturation(tmax_c: float, tmin_c: float) -> float:
    """Saturation vapour pressure of the day. [kPa]"""
    return 0.5 * (saturation(tmax_c) + saturation(tmin_c))  # Eq. 12


@equation
def slope(temperature_c: float) -> float:
    """Slope of the saturation vapour pressure curve. [kPa degC-1]"""
    return 4098.0 * saturation(temperature_c) / (temperature_c + 237.3) ** 2  # Eq. 13


@equation
def vapour_from_dewpoint(dewpoint_c: float) -> float:
    """Actual vapour pressure from the dew point. [kPa]"""
    return saturation(dewpoint_c)  # Eq. 14


def vapour_from_wet_bulb(
    wet_c: float, dry_c: float, pressure_kpa: float, coefficient: float
) -> float:
    """Actual vapour pressure from a psychrometer. [kPa]

    ``coefficient`` is 0.000662 ventilated, 0.0008 natural, 0.0012 indoors. [degC-1]
    """
    return saturation(wet_c) - coefficient * pressure_kpa * (dry_c - wet_c)  # Eqs. 15, 16


@equation
def vapour_from_humidities(tmax_c: float, tmin_c: float, rhmax: float, rhmin: float) -> float:
    """Actual vapour pressure from the highest and lowest relative humidity in %. [kPa]"""
    return 0.005 * (saturation(tmin_c) * rhmax + saturation(tmax_c) * rhmin)  # Eq. 17


@equation
def vapour_from_rhmax(tmin_c: float, rhmax: float) -> float:
    """Actual vapour pressure where only the highest relative humidity is trusted. [kPa]"""
    return 0.01 * saturation(tmin_c) * rhmax  # Eq. 18


def vapour_from_rhmean(tmax_c: float, tmin_c: float, rhmean: float) -> float:
    """Actual vapour pressure from the mean relative humidity in %. [kPa]"""
    return 0.01 * rhmean * mean_saturation(tmax_c, tmin_c)  # Eq. 19


@equation
def vapour_from_tmin(tmin_c: float) -> float:
    """Actual vapour pressure where no humidity is known: dew point at Tmin. [kPa]"""
    return 0.611 * exp(17.27 * tmin_c / (tmin_c + 237.3))  # Eq. 48


@equation
def lowest_humidity(vapour_kpa: float, tmax_c: float) -> float:
    """Lowest relative humidity of the day. [%]"""
    return 100.0 * vapour_kpa / saturation(tmax_c)  # Eq. 63


def wind_at_2m(speed_m_s: float, height_m: float) -> float:
    """Wind speed at 2 m from that at another height. [m s-1]"""
    import math

    return speed_m_s * 4.87 / math.log(67.8 * height_m - 5.42)  # Eq. 47
