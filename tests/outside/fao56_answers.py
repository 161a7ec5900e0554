"""Which of our functions answers which quantity of FAO-56."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rootbound_rules.season.demand import ABSENT, day_demand
from rootbound_rules.season.step import water_in_reach
from rootbound_rules.water import air, coefficients, evaporation, radiation, rootzone
from rootbound_rules.water.reference_et import hargreaves, penman_monteith, reference_et

Inputs = dict[str, Any]


def emitted(temperature: float) -> float:
    """Black-body radiation of one temperature, out of Eq. 39 with dry air and a clear sky."""
    return radiation.net_longwave(temperature, temperature, 0.0, 1.0, 1.0) / 0.34


def humidity_factor(vapour: float) -> float:
    """The humidity term of Eq. 39, out of the whole."""
    return radiation.net_longwave(20.0, 20.0, vapour, 1.0, 1.0) / emitted(20.0)


def cloud_factor(rs: float, rso: float) -> float:
    """The cloud term of Eq. 39, out of the whole."""
    whole = radiation.net_longwave(20.0, 20.0, 1.0, rs, rso)
    return whole / radiation.net_longwave(20.0, 20.0, 1.0, 1.0, 1.0)


def vapour(i: Inputs) -> float:
    """Actual vapour pressure by what the example knows."""
    if "ea" in i:
        return float(i["ea"])
    if "RHmax" in i:
        return air.vapour_from_humidities(i["Tmax"], i["Tmin"], i["RHmax"], i["RHmin"])
    return air.vapour_from_tmin(i["Tmin"])


def terms(i: Inputs) -> dict[str, float]:
    """Every line of the calculation sheet of Examples 17, 18 and 20 (Box 11 of the book)."""
    tmax, tmin, z = i["Tmax"], i["Tmin"], i["z_m"]
    tmean, ea = 0.5 * (tmax + tmin), vapour(i)
    u2 = i["u2"] if "u2" in i else air.wind_at_2m(i["wind_10m_kmh"] / 3.6, 10.0)
    ra, n = radiation.extraterrestrial(i["lat"], i["J"]), radiation.daylight_hours(i["lat"], i["J"])
    rso = radiation.clear_sky(ra, z)
    if "n" in i:
        rs = radiation.from_sunshine(ra, i["n"], n)
    else:
        rs = radiation.from_temperatures(ra, tmax, tmin, i["kRs"], rso)
    rns, rnl = radiation.net_shortwave(rs), radiation.net_longwave(tmax, tmin, ea, rs, rso)
    net = rns - rnl - i.get("G", 0.0)
    es = air.mean_saturation(tmax, tmin)
    delta, gamma = air.slope(tmean), air.psychrometric(air.pressure(z))
    c_rad = penman_monteith(tmean, 1.0 / 0.408, u2, 0.0, delta, gamma)
    rad = penman_monteith(tmean, net, u2, 0.0, delta, gamma)
    aero = penman_monteith(tmean, 0.0, u2, es - ea, delta, gamma)
    c_aero = c_rad * gamma / delta
    et0 = penman_monteith(tmean, net, u2, es - ea, delta, gamma)
    if not i.get("G"):  # the whole, with no soil heat, is what the product calls
        assert et0 == reference_et(tmax, tmin, rs, rso, ea, u2, z)
    return {
        "u2": u2, "P": air.pressure(z), "Delta": delta, "gamma": gamma, "c_rad": c_rad,
        "c_aero": c_aero, "k900": aero / (c_aero * (es - ea)), "e0max": air.saturation(tmax),
        "e0min": air.saturation(tmin), "es": es, "ea": ea, "vpd": es - ea, "Ra": ra, "N": n,
        "Rs": rs, "Rso": rso, "Rns": rns, "sTmax": emitted(tmax), "sTmin": emitted(tmin),
        "hum": humidity_factor(ea), "cloud": cloud_factor(rs, rso), "Rnl": rnl, "Rn": rns - rnl,
        "RnG": net, "eqev": rad / c_rad, "rad": rad, "aero": aero, "ETo": et0,
    }  # fmt: skip


def term(name: str) -> Callable[[Inputs], float]:
    """One line of the sheet."""
    return lambda i: terms(i)[name]


def filled_day(i: Inputs) -> float:
    """A day of which only the temperatures are known, as the season computes it."""
    gaps = (ABSENT,) * 4
    return day_demand(
        i["Tmax"], i["Tmin"], *gaps, ABSENT, ABSENT,
        radiation.extraterrestrial(i["lat"], i["J"]), i["z_m"], i["kRs"], i["u2"],
    )[0]  # fmt: skip


def cotton(i: Inputs) -> dict[str, float]:
    """Examples 32-34: cotton under three ways of wetting; ``fw`` is the wetted share."""
    climate, height = coefficients.climate_term(i["u2"], i["RHmin"]), i["h"]
    kcmax = coefficients.kc_max(i["Kcb"], climate, coefficients.height_factor(height))
    fc = coefficients.cover(i["Kcb"], i["Kcmin"], kcmax, height)
    few = min(1.0 - fc, i["fw"])
    ke = evaporation.evaporation_coefficient(i["Kr"], kcmax, i["Kcb"], few)
    whole = {"Kcmax": kcmax, "fc": fc, "few": few, "Ke": ke, "Kc": i["Kcb"] + ke}
    limit = evaporation.evaporation_coefficient(1e6, kcmax, i["Kcb"], few)
    return whole | {"few_Kcmax": limit}


def cotton_line(name: str) -> Callable[[Inputs], float]:
    """One number of Examples 32-34."""
    return lambda i: cotton(i)[name]


def adjusted(i: Inputs) -> float:
    """Eqs. 62, 65, 68 and 70."""
    climate = coefficients.climate_term(i["u2"], i["RHmin"])
    return coefficients.adjusted(i["Kc"], climate, coefficients.height_factor(i["h"]))


def largest(i: Inputs) -> float:
    """Eq. 72."""
    climate = coefficients.climate_term(i["u2"], i["RHmin"])
    return coefficients.kc_max(i["Kcb"], climate, coefficients.height_factor(i["h"]))


def total(i: Inputs) -> float:
    """Eq. 82."""
    return rootzone.total_available(1000.0 * (i["theta_FC"] - i["theta_WP"]), i["Zr"])


def from_temperatures(i: Inputs) -> float:
    """Eq. 50."""
    ra = radiation.extraterrestrial(i["lat"], i["J"])
    rso = radiation.clear_sky(ra, i["z_m"])
    return radiation.from_temperatures(ra, i["Tmax"], i["Tmin"], i["kRs"], rso)


def sunset(i: Inputs) -> float:
    """Eq. 25."""
    return radiation.sunset_angle(radiation.radians(i["lat"]), radiation.declination(i["J"]))


def sunshine(i: Inputs) -> float:
    """Eq. 35."""
    ra = radiation.extraterrestrial(i["lat"], i["J"])
    return radiation.from_sunshine(ra, i["n"], radiation.daylight_hours(i["lat"], i["J"]))


def wet_bulb(i: Inputs) -> float:
    """Eqs. 15, 16."""
    return air.vapour_from_wet_bulb(i["Twet"], i["Tdry"], air.pressure(i["z_m"]), i["a_psy"])


ANSWERS: dict[str, Callable[[Inputs], float]] = {
    "pressure": lambda i: air.pressure(i["z_m"]),
    "psychrometric": lambda i: air.psychrometric(air.pressure(i["z_m"])),
    "saturation": lambda i: air.saturation(i["T"]),
    "mean saturation": lambda i: air.mean_saturation(i["Tmax"], i["Tmin"]),
    "vapour from wet bulb": wet_bulb,
    "vapour from humidities": vapour,
    "vapour from mean humidity": lambda i: air.vapour_from_rhmean(
        i["Tmax"], i["Tmin"], i["RHmean"]
    ),
    "deficit from humidities": lambda i: air.mean_saturation(i["Tmax"], i["Tmin"]) - vapour(i),
    "radians": lambda i: radiation.radians(i["lat"]),
    "sun distance": lambda i: radiation.sun_distance(i["J"]),
    "declination": lambda i: radiation.declination(i["J"]),
    "sunset angle": sunset,
    "extraterrestrial": lambda i: radiation.extraterrestrial(i["lat"], i["J"]),
    "daylight hours": lambda i: radiation.daylight_hours(i["lat"], i["J"]),
    "from sunshine": sunshine,
    "from temperatures": from_temperatures,
    "clear sky": lambda i: radiation.clear_sky(i["Ra"], i["z_m"]),
    "emitted": lambda i: emitted(i["T"]),
    "humidity factor": lambda i: humidity_factor(i["ea"]),
    "cloud factor": lambda i: cloud_factor(i["Rs"], i["Rso"]),
    "net longwave": lambda i: radiation.net_longwave(
        i["Tmax"], i["Tmin"], i["ea"], i["Rs"], i["Rso"]
    ),
    "net shortwave": lambda i: radiation.net_shortwave(i["Rs"]),
    "net radiation": lambda i: radiation.net_shortwave(i["Rs"]) - i["Rnl"],
    "monthly soil heat": lambda i: radiation.monthly_soil_heat(i["T_next"], i["T_prev"]),
    "wind at 2 m": lambda i: air.wind_at_2m(i["uz"], i["z"]),
    "ET0 of a day with gaps": filled_day,
    "lowest humidity": lambda i: air.lowest_humidity(i["ea"], i["Tmax"]),
    "hargreaves": lambda i: hargreaves(
        i["Tmax"], i["Tmin"], radiation.extraterrestrial(i["lat"], i["J"])
    ),
    "adjusted coefficient": adjusted,
    "coefficient along a season": lambda i: coefficients.kcb_curve(
        i["day"], *i["corners"], *i["Kc"]
    ),
    "largest coefficient": largest,
    "total evaporable": lambda i: evaporation.total_evaporable(
        i["theta_FC"], i["theta_WP"], i["Ze"]
    ),
    "total available": total,
    "readily available": lambda i: water_in_reach(1.0, 0.0, total(i), i["p"]),
    "depletion fraction": lambda i: rootzone.depletion_fraction(i["p_tab"], i["ETc"]),
}
ANSWERS |= {f"cotton {name}": cotton_line(name) for name in ("Kcmax", "fc", "few", "few_Kcmax")}
ANSWERS |= {f"cotton {name}": cotton_line(name) for name in ("Ke", "Kc")}
ANSWERS |= {
    f"term {name}": term(name)
    for name in (
        "u2", "P", "Delta", "gamma", "c_rad", "c_aero", "k900", "e0max", "e0min", "es", "ea",
        "vpd", "Ra", "N", "Rs", "Rso", "Rns", "sTmax", "sTmin", "hum", "cloud", "Rnl", "Rn",
        "RnG", "eqev", "rad", "aero", "ETo",
    )
}  # fmt: skip

NOT_ANSWERED = {
    "term Tmean": "half of Tmax + Tmin stands inside reference_et",
    "term RsRso": "a ratio; the cloud factor made of it is answered",
    "drip share": "no drip lines in the product: rain and sprinklers wet all of the soil",
    "tall reference": "coefficients of FAO-56 go with grass; alfalfa is not computed",
    "ET0 by other constants": "constants of ASCE; compared in test_reference_et",
    "initial coefficient": "the dual coefficient takes the place of Kc ini curves (Annex 7)",
    "yield response": "no function of yield in the rules: the service promises none",
}
"""Quantities that no function of ours answers, each with the reason."""
