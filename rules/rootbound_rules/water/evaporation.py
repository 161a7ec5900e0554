"""Evaporation from the top layer (FAO-56 chapter 7)."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip


def total_evaporable(field_capacity: float, wilting_point: float, depth_m: float) -> float:
    """Water that can evaporate from the top layer when wet, ``TEW``. [mm]"""
    return 1000.0 * (field_capacity - 0.5 * wilting_point) * depth_m  # Eq. 73


@equation
def reduction(depletion_mm: float, tew_mm: float, rew_mm: float) -> float:
    """How much drying of the top layer slows evaporation, ``Kr``. [0-1]"""
    return clip((tew_mm - depletion_mm) / (tew_mm - rew_mm), 0.0, 1.0)  # Eq. 74


@equation
def evaporation_coefficient(kr: float, kcmax: float, kcb: float, few: float) -> float:
    """Evaporation coefficient ``Ke``. [-]"""
    return min(kr * (kcmax - kcb), few * kcmax)  # Eq. 71


@equation
def top_layer(
    depletion_mm: float, infiltration_mm: float, evaporation_mm: float, few: float, tew_mm: float
) -> float:
    """Depletion of the top layer at the end of the day. [mm]

    Parameters
    ----------
    depletion_mm
        At the end of the day before. [mm]
    infiltration_mm, evaporation_mm
        Of the day, over the whole field. [mm]
    few
        Share of the soil that is bare and wetted. [0-1]
    tew_mm
        Its limit. [mm]

    Notes
    -----
    Water enters first and the excess drains (Eq. 79), then the day's evaporation is taken.
    """
    wetted = max(depletion_mm - infiltration_mm, 0.0)  # Eqs. 77, 79
    return min(wetted + evaporation_mm / few, tew_mm)  # Eqs. 77, 78
