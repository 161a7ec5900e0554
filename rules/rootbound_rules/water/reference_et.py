"""Reference evapotranspiration of one day (FAO-56 chapters 2 and 4)."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import root
from rootbound_rules.water.air import mean_saturation, pressure, psychrometric, slope
from rootbound_rules.water.radiation import net_longwave, net_shortwave


@equation
def penman_monteith(
    tmean_c: float,
    net_mj: float,
    wind_m_s: float,
    deficit_kpa: float,
    slope_kpa: float,
    gamma: float,
) -> float:
    """Grass reference evapotranspiration. [mm d-1]

    Parameters
    ----------
    tmean_c
        Mean of the day's extremes. [degC]
    net_mj
        Net radiation less soil heat flux. [MJ m-2 d-1]
    wind_m_s
        Wind at 2 m, used as at least 0.5 (p. 63). [m s-1]
    deficit_kpa
        Saturation less actual vapour pressure. [kPa]
    slope_kpa, gamma
        Slope of the vapour pressure curve, psychrometric constant. [kPa degC-1]
    """
    u2 = max(wind_m_s, 0.5)
    air = gamma * 900.0 / (tmean_c + 273.0) * u2 * deficit_kpa
    return (0.408 * slope_kpa * net_mj + air) / (slope_kpa + gamma * (1.0 + 0.34 * u2))  # Eq. 6


@equation
def reference_et(
    tmax_c: float,
    tmin_c: float,
    rs_mj: float,
    rso_mj: float,
    vapour_kpa: float,
    wind_m_s: float,
    elevation_m: float,
) -> float:
    """Daily reference evapotranspiration from the day's means, never below 0. [mm d-1]"""
    tmean = 0.5 * (tmax_c + tmin_c)  # Eq. 9
    net = net_shortwave(rs_mj) - net_longwave(tmax_c, tmin_c, vapour_kpa, rs_mj, rso_mj)  # Eq. 40
    deficit = mean_saturation(tmax_c, tmin_c) - vapour_kpa
    gamma = psychrometric(pressure(elevation_m))
    return max(penman_monteith(tmean, net, wind_m_s, deficit, slope(tmean), gamma), 0.0)


@equation
def hargreaves(tmax_c: float, tmin_c: float, ra_mj: float) -> float:
    """Reference evapotranspiration from temperatures alone. [mm d-1]"""
    tmean = 0.5 * (tmax_c + tmin_c)
    spread = root(max(tmax_c - tmin_c, 0.0))
    return max(0.0023 * (tmean + 17.8) * spread * 0.408 * ra_mj, 0.0)  # Eq. 52, Ra in mm
