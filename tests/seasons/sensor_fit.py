"""Ways to read the model at a depth, and how far two runs of days lie apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import fmean, stdev

import numpy as np

from rootbound_rules.season.trace_day import TraceDay, Twin
from seasons.sensor_days import DEPTHS_CM
from seasons.soil_data import Layer


@dataclass(frozen=True, slots=True)
class Fit:
    """How far the model lies from the sensors over a run of days. [m3 m-3]"""

    days: int
    rmse: float
    bias: float
    """Model less sensors."""
    unbiased: float
    """RMSE that remains without the bias."""
    correlation: float


def even(depletion_mm: float, depth_m: float, _at_m: float) -> float:
    """Depletion at a depth where a store is depleted alike all through. [m3 m-3]"""
    return depletion_mm / (1000.0 * depth_m)


def tapered(depletion_mm: float, depth_m: float, at_m: float) -> float:
    """Depletion at a depth where roots take less the deeper they go. [m3 m-3]

    A straight line on which the upper half of the root zone gives 70 % of the water, as a
    textbook of soil water has it for uniform soil; its quarters give 40, 30, 20 and 10 %.
    """
    return even(depletion_mm, depth_m, at_m) * (1.8 - 1.6 * at_m / depth_m)


def model_points(
    twin: Twin,
    layers: list[Layer],
    profile_m: float,
    taken: Callable[[float, float, float], float],
) -> tuple[float, float]:
    """Return the model's water at the depths of the sensors. [m3 m-3]

    Parameters
    ----------
    twin
        The free twin of a day.
    layers
        Of the soil, from the top down.
    profile_m
        Depth over which the trace keeps its water. [m]
    taken
        :func:`even` or :func:`tapered`.
    """
    found = []
    for depth in DEPTHS_CM:
        at = 0.01 * depth
        touching = [x for x in layers if x.top_cm <= depth <= x.bottom_cm]
        full = fmean(x.field_capacity for x in touching)
        dry = fmean(x.wilting_point for x in touching)
        if at <= twin.depth:
            lacking = taken(twin.within, twin.depth, at)
        else:
            lacking = even(twin.below, max(profile_m - twin.depth, 0.01), at)
        found.append(max(full - lacking, dry))
    return found[0], found[1]


def fit(sensed: list[float], model: list[float]) -> Fit:
    """Compare two runs of days."""
    apart = [ours - theirs for ours, theirs in zip(model, sensed, strict=True)]
    rmse, bias = fmean(x * x for x in apart) ** 0.5, fmean(apart)
    alike = len(sensed) > 2 and stdev(sensed) > 0 and stdev(model) > 0
    return Fit(
        days=len(apart),
        rmse=rmse,
        bias=bias,
        unbiased=max(rmse * rmse - bias * bias, 0.0) ** 0.5,
        correlation=float(np.corrcoef(sensed, model)[0, 1]) if alike else float("nan"),
    )


def model_core(day: TraceDay, layers: list[Layer], profile_m: float) -> float:
    """Return the model's water of a core of 0-45 cm. [m3 m-3]

    Where roots are shallower than the core, what the top layer lacks is all within it.
    """
    core_mm = 450.0
    full = sum(x.field_capacity * 10.0 * max(min(x.bottom_cm, 45) - x.top_cm, 0) for x in layers)
    twin = day.free
    inside = min(450.0 / (1000.0 * twin.depth), 1.0) * twin.within
    under = max(0.45 - twin.depth, 0.0) / max(profile_m - twin.depth, 0.01) * twin.below
    return (full - max(inside + under, day.top_depletion_mm)) / core_mm
