"""Units as CF files write them, and the way from each to ours."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.water.air import saturation, wind_at_2m

Values = NDArray[np.float64]
Convert = Callable[[Values], Values]

AT_ZERO_KPA = float(saturation(0.0))
LEAST_KPA = 1e-4
"""Less than this is no vapour pressure that a sensor or a model would tell from none."""
HEIGHT_M = 2.0

CELSIUS = ("degc", "c", "celsius", "degree_celsius", "degrees_celsius", "deg_c", "degree_c")
KELVIN = ("k", "degk", "kelvin", "degree_kelvin", "deg_k")
FAHRENHEIT = ("degf", "f", "fahrenheit", "degree_fahrenheit", "deg_f")
LINEAR: dict[str, tuple[tuple[tuple[str, ...], float, float], ...]] = {
    "temperature": (
        (CELSIUS, 1.0, 0.0),
        (KELVIN, 1.0, -273.15),
        (FAHRENHEIT, 5 / 9, -160 / 9),
    ),
    "rain": (
        (("mm", "mm/day", "mm/d", "mm d-1", "mm day-1", "millimeter", "millimetre"), 1.0, 0.0),
        (("millimeters", "millimetres", "kg m-2", "kg/m2", "kg m-2 d-1"), 1.0, 0.0),
        (("kg m-2 s-1", "kg/m2/s", "mm/s", "mm s-1"), 86_400.0, 0.0),
        (("m", "meter", "metre"), 1000.0, 0.0),
        (("inch", "inches", "in"), 25.4, 0.0),
    ),
    "solar": (
        (("mj m-2 d-1", "mj m-2 day-1", "mj/m2/day", "mj/m2/d", "mj m-2", "mj/m2"), 1.0, 0.0),
        (("w m-2", "w/m2", "watt m-2"), 0.0864, 0.0),  # 86,400 s a day
        (("j m-2", "j/m2", "j m-2 d-1"), 1e-6, 0.0),
        (("kwh m-2", "kwh/m2", "kwh m-2 d-1", "kwh/m2/day"), 3.6, 0.0),
    ),
    "wind": (
        (("m s-1", "m/s", "meter/second"), 1.0, 0.0),
        (("km h-1", "km/h"), 1 / 3.6, 0.0),
        (("knot", "knots", "kt"), 1852 / 3600, 0.0),
    ),
    "vapour": (
        (("kpa",), 1.0, 0.0),
        (("pa",), 1e-3, 0.0),
        (("hpa", "mbar", "millibar"), 0.1, 0.0),
    ),
}
KINDS: dict[str, tuple[str, ...]] = {
    "tmax_c": ("temperature",),
    "tmin_c": ("temperature",),
    "rain_mm": ("rain",),
    "solar_mj": ("solar",),
    "dewpoint_c": ("temperature", "vapour"),
    "wind_m_s": ("wind",),
}


def plain(units: str) -> str:
    """Write a unit one way: ``W m**-2``, ``W m^-2`` and ``w m-2`` are the same.

    Parameters
    ----------
    units
        As the file or the preset has it.
    """
    return " ".join(units.lower().replace("**", "").replace("^", "").replace(".", " ").split())


def known_units(quantity: str) -> tuple[str, ...]:
    """Name one unit of each size that a quantity may come in.

    Parameters
    ----------
    quantity
        One of our names.
    """
    return tuple(names[0] for kind in KINDS[quantity] for names, _, _ in LINEAR[kind])


def same_units(quantity: str, one: str, other: str) -> bool:
    """Tell whether two units of a quantity are the same one, written in two ways.

    Parameters
    ----------
    quantity
        One of our names.
    one, other
        The units.
    """
    found = _find(quantity, one)
    return found is not None and found == _find(quantity, other)


def conversion(quantity: str, units: str, height_m: float | None = None) -> Convert | None:
    """Find the way from a unit to ours.

    Parameters
    ----------
    quantity
        One of our names.
    units
        Of the file. A pressure for ``dewpoint_c`` means vapour pressure.
    height_m
        Where the wind was measured; None for 2 m. [m]

    Returns
    -------
    callable or None
        Takes and gives values; None if the unit is not known.
    """
    found = _find(quantity, units)
    if found is None:
        return None
    kind, factor, offset = found
    if kind == "wind" and height_m is not None and height_m != HEIGHT_M:
        factor *= wind_at_2m(1.0, height_m)
    if kind == "vapour":
        return lambda values: dewpoint(values * factor)
    return lambda values: values * factor + offset


def dewpoint(vapour_kpa: Values) -> Values:
    """Dew point, from the vapour pressure: FAO-56 Eq. 14 turned round. [degC]

    Parameters
    ----------
    vapour_kpa
        Actual vapour pressure; what is not above nothing gives NaN. [kPa]
    """
    safe = np.where(vapour_kpa >= LEAST_KPA, vapour_kpa, np.nan)
    share = np.log(safe) - math.log(AT_ZERO_KPA)
    return 237.3 * share / (17.27 - share)


def _find(quantity: str, units: str) -> tuple[str, float, float] | None:
    """Kind, factor and offset of a unit."""
    wanted = plain(units)
    for kind in KINDS[quantity]:
        for names, factor, offset in LINEAR[kind]:
            if wanted in names:
                return kind, factor, offset
    return None
