"""Soil water from texture and organic matter: Saxton & Rawls 2006.

Sand and clay are decimal mass fractions, organic matter is in percent by mass, water
contents in m3 m-3. Do not use above 8 % organic matter or 60 % clay.

References
----------
``saxton_rawls_2006``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

LEAST_AIR = 0.005
"""Saturation stays at least this far above field capacity. [m3 m-3]"""


@dataclass(frozen=True, slots=True)
class Retention:
    """What the equations give for one soil."""

    wilting_point: float
    field_capacity: float
    saturation: float
    density: float
    """Bulk density of the normal soil. [g cm-3]"""
    air_entry_kpa: float
    conductivity_mm_h: float
    """Saturated conductivity. [mm h-1]"""
    pore_index: float
    """``lambda``, 1/B. [-]"""


def wilting_point(sand: float, clay: float, om: float) -> float:
    """Water at 1500 kPa. [m3 m-3]"""
    first = (
        -0.024 * sand
        + 0.487 * clay
        + 0.006 * om
        + 0.005 * sand * om
        - 0.013 * clay * om
        + 0.068 * sand * clay
        + 0.031
    )
    return first + (0.14 * first - 0.02)  # Eq. 1


def field_capacity(sand: float, clay: float, om: float) -> float:
    """Water at 33 kPa, normal density. [m3 m-3]"""
    first = (
        -0.251 * sand
        + 0.195 * clay
        + 0.011 * om
        + 0.006 * sand * om
        - 0.027 * clay * om
        + 0.452 * sand * clay
        + 0.299
    )
    return first + (1.283 * first**2 - 0.374 * first - 0.015)  # Eq. 2


def air_to_field_capacity(sand: float, clay: float, om: float) -> float:
    """Water between saturation and 33 kPa. [m3 m-3]"""
    first = (
        0.278 * sand
        + 0.034 * clay
        + 0.022 * om
        - 0.018 * sand * om
        - 0.027 * clay * om
        - 0.584 * sand * clay
        + 0.078
    )
    return first + (0.636 * first - 0.107)  # Eq. 3


def air_entry(sand: float, clay: float, air: float) -> float:
    """Suction at which air enters, ``air`` from :func:`air_to_field_capacity`. [kPa]"""
    first = (
        -21.67 * sand
        - 27.93 * clay
        - 81.97 * air
        + 71.12 * sand * air
        + 8.29 * clay * air
        + 14.05 * sand * clay
        + 27.16
    )
    return first + (0.02 * first**2 - 0.113 * first - 0.70)  # Eq. 4


def retention_slope(field_cap: float, wilting: float) -> float:
    """``B`` of the logarithmic retention curve from 33 to 1500 kPa. [-]"""
    return (math.log(1500.0) - math.log(33.0)) / (math.log(field_cap) - math.log(wilting))  # Eq. 15


def conductivity(sat: float, field_cap: float, pore_index: float) -> float:
    """Saturated conductivity. [mm h-1]"""
    return float(1930.0 * (sat - field_cap) ** (3.0 - pore_index))  # Eq. 16


def retention(
    sand_pct: float, clay_pct: float, om_pct: float, density_factor: float = 1.0
) -> Retention:
    """All of the above for one soil.

    Parameters
    ----------
    sand_pct, clay_pct, om_pct
        By mass. [%]
    density_factor
        Bulk density over the normal one, 0.9-1.3. [-]

    Returns
    -------
    Retention
        The soil's water contents and conductivity.
    """
    sand, clay = 0.01 * sand_pct, 0.01 * clay_pct
    wp = wilting_point(sand, clay, om_pct)
    normal_fc = field_capacity(sand, clay, om_pct)
    air = air_to_field_capacity(sand, clay, om_pct)
    normal_sat = normal_fc + air - 0.097 * sand + 0.043  # Eq. 5
    density = (1.0 - normal_sat) * 2.65 * density_factor  # Eqs. 6, 7
    sat = 1.0 - density / 2.65  # Eq. 8
    fc = normal_fc - 0.2 * (normal_sat - sat)  # Eq. 9
    sat = max(sat, fc + LEAST_AIR)
    pore_index = 1.0 / retention_slope(fc, wp)  # Eq. 18
    return Retention(
        wilting_point=wp,
        field_capacity=fc,
        saturation=sat,
        density=density,
        air_entry_kpa=max(air_entry(sand, clay, air), 0.0),
        conductivity_mm_h=conductivity(sat, fc, pore_index),
        pore_index=pore_index,
    )
