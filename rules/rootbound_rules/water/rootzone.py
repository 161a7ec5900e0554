"""The root zone in two parts: soil within reach of the held roots and soil beyond it."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip, exp


@equation
def total_available(available_mm_m: float, depth_m: float) -> float:
    """Water between field capacity and wilting point over the roots' depth. [mm]"""
    return available_mm_m * depth_m  # Eq. 82


@equation
def depletion_fraction(table_p: float, etc_mm: float) -> float:
    """Share of the available water that goes before stress begins, ``p``. [0.1-0.8]"""
    return clip(table_p + 0.04 * (5.0 - etc_mm), 0.1, 0.8)  # p. 162


@equation
def stress(depletion_mm: float, taw_mm: float, p: float) -> float:
    """Stress coefficient ``Ks``: 1 without stress, 0 at the wilting point. [0-1]"""
    return clip((taw_mm - depletion_mm) / ((1.0 - p) * taw_mm), 0.0, 1.0)  # Eq. 84


@equation
def deepening_gain(below_mm: float, step_m: float, below_m: float) -> float:
    """Depletion that comes with the soil roots grow into. [mm]

    Parameters
    ----------
    below_mm
        Depletion of the profile below the roots. [mm]
    step_m
        How far the roots deepen today. [m]
    below_m
        Depth of the profile below the roots. [m]
    """
    return below_mm * min(step_m / max(below_m, 1e-6), 1.0)


@equation
def within_after_reach(a: float, b: float, within_mm: float, beyond_mm: float) -> float:
    """Depletion within reach after reach went from ``a`` to ``b``. [mm]"""
    grown = (a * within_mm + (b - a) * beyond_mm) / b
    return grown if b > a else within_mm


@equation
def beyond_after_reach(a: float, b: float, within_mm: float, beyond_mm: float) -> float:
    """Depletion beyond reach after reach went from ``a`` to ``b``. [mm]"""
    shrunk = ((1.0 - a) * beyond_mm + (a - b) * within_mm) / max(1.0 - b, 1e-6)
    return shrunk if b < a else beyond_mm


@equation
def exchange_rate(diffusivity_cm2_d: float, half_row_cm: float, a: float) -> float:
    """Share of the difference between the parts that remains after a day. [0-1]

    ``exp(-k)`` with ``k = pi^2 D / (4 L^2)`` and ``L = (row/2)(1 - A)``: the slowest mode of
    diffusion into a slab whose far side lets nothing through.

    References
    ----------
    ``crank_1975``.
    """
    length = max(half_row_cm * (1.0 - a), 1e-3)
    return exp(-2.4674011002723395 * diffusivity_cm2_d / (length * length))
