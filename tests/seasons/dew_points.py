"""Estimates of the dew point where humidity was not measured, for trial beside measured ones.

FAO-56 takes the lowest temperature (Eq. 48) and for arid places 2 to 3 K less (p. 58). Kimball,
Running & Nemani (1997, Agric. For. Meteorol. 85: 87-98) lower it by the day's evaporation over
the year's rain; Thornton, Hasenauer & White (2000, Agric. For. Meteorol. 104: 255-271) do so
only where a year evaporates more than 2.5 times its rain. Nothing here is fitted.
"""

from __future__ import annotations

import numpy as np

from rootbound_rules.tables import load_table
from rootbound_rules.water.air import pressure, psychrometric, saturation, slope
from rootbound_rules.water.radiation import clear_sky, from_temperatures
from seasons.stations import Station, Values

KELVIN = 273.15
ARID = 2.5
ESTIMATES = ("Tmin", "Tmin - 2 K", "Tmin - 3 K", "Kimball", "Kimball where arid")


def measured_dew_point(station: Station) -> Values:
    """Return the dew point that goes with the vapour that was measured. [degC]"""
    days = station.weather
    if days.dewpoint_c is not None:
        return days.dewpoint_c
    if days.rhmax_pct is None or days.rhmin_pct is None:
        raise ValueError(f"{station.name} has no humidity to take a dew point from")
    by_night = _saturation(days.tmin_c) * days.rhmax_pct
    vapour = 0.005 * (by_night + _saturation(days.tmax_c) * days.rhmin_pct)
    x = np.log(vapour / 0.6108)
    return np.asarray(237.3 * x / (17.27 - x), np.float64)


def dew_point(station: Station, estimate: str, rain_factor: float = 1.0) -> Values:
    """Return an estimate of the dew point for every day. [degC]

    Parameters
    ----------
    station
        The place; only its temperatures, radiation and yearly rain are used.
    estimate
        One of ``ESTIMATES``.
    rain_factor
        Factor on the year's rain, to see how much hangs on it. [-]
    """
    tmin = station.weather.tmin_c
    if estimate.startswith("Tmin"):
        return tmin - {"Tmin": 0.0, "Tmin - 2 K": 2.0, "Tmin - 3 K": 3.0}[estimate]
    if estimate == "Kimball where arid" and dryness(station) < ARID * rain_factor:
        return tmin
    share = potential_evaporation(station) / (station.rain_year_mm * rain_factor)
    return kimball(tmin, station.weather.tmax_c, share)


def dryness(station: Station) -> float:
    """Return how often a year's potential evaporation holds its rain. [-]"""
    return float(potential_evaporation(station).mean() * 365.25 / station.rain_year_mm)


def kimball(tmin_c: Values, tmax_c: Values, share: Values) -> Values:
    """Return the dew point of Kimball et al. 1997, as restated by Thornton et al. 2000. [degC]

    Parameters
    ----------
    tmin_c, tmax_c
        Extremes of the day. [degC]
    share
        The day's potential evaporation over the rain of a year. [-]
    """
    dry = 1.003 - 1.444 * share + 12.312 * share**2 - 32.766 * share**3
    factor = -0.127 + 1.121 * dry + 0.0006 * (tmax_c - tmin_c)
    return np.asarray((tmin_c + KELVIN) * factor - KELVIN, np.float64)


def potential_evaporation(station: Station) -> Values:
    """Return Priestley-Taylor evaporation as Kimball's method takes it. [mm d-1]

    Of the radiation 0.72 is used: albedo 0.2, a tenth of the rest into the ground.
    """
    days = station.weather
    sun = days.solar_mj if days.solar_mj is not None else _sun(station)
    warm = 0.5 * (days.tmax_c + days.tmin_c) + 0.225 * (days.tmax_c - days.tmin_c)  # by daylight
    latent = 2.5023 - 0.00243054 * warm
    steep = np.array([slope(float(t)) for t in warm])
    gamma = psychrometric(pressure(station.elevation_m))
    return np.asarray(1.26 * steep / (steep + gamma) * 0.72 * sun / latent, np.float64)


def _sun(station: Station) -> Values:
    days, krs = station.weather, load_table("season").number("radiation_krs")
    each = zip(station.sun_above, days.tmax_c, days.tmin_c, strict=True)
    return np.array(
        [
            from_temperatures(ra, hi, lo, krs, clear_sky(ra, station.elevation_m))
            for ra, hi, lo in each
        ]
    )


def _saturation(celsius: Values) -> Values:
    return np.array([saturation(float(t)) for t in celsius])
