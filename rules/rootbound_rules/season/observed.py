"""What people measured on one field, put in the place of its weather cell's own figures."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.season.demand import GAP

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from rootbound_rules.season.demand import Demand


def with_observed(
    demand: Demand, rain_mm: Mapping[date, float], irrigation_mm: Mapping[date, float]
) -> Demand:
    """Give one field's days of its cell's: its gauge's rain instead of the grid's.

    Parameters
    ----------
    demand
        The days of the field's weather cell; it is left as it is, other fields share it.
    rain_mm
        What the field's gauge had by the day the rain fell. [mm]
    irrigation_mm
        What was given by day; it adds to what the cell's days have. [mm]

    Returns
    -------
    Demand
        Of this field alone. A day of which the cell has no weather yet is left out: it
        counts as soon as the day's heat and demand are known. A marked gap without rain is
        none any more where the gauge tells the rain, for its drought would be made up.

    Raises
    ------
    RulesError
        If a depth is negative or not a number.
    """
    if not rain_mm and not irrigation_mm:
        return demand
    rain, given = demand.rain_mm.copy(), demand.irrigation_mm.copy()
    made = demand.made.copy()
    for day, depth in _known(demand, rain_mm, "rain"):
        if rain[day] == 0.0:  # a gap that has rain is one of temperature: it stays
            made[day] &= np.uint8(~GAP & 0xFF)
        rain[day] = depth
    for day, depth in _known(demand, irrigation_mm, "irrigation"):
        given[day] += depth
    return replace(demand, rain_mm=rain, irrigation_mm=given, made=made)


def _known(demand: Demand, depths: Mapping[date, float], noun: str) -> list[tuple[int, float]]:
    """Positions and depths of the days that the cell has."""
    found: list[tuple[int, float]] = []
    for day, depth in sorted(depths.items()):
        if not (np.isfinite(depth) and depth >= 0.0):
            raise RulesError(f"{noun} of {day} is {depth}: wanted a depth of 0 mm or more")
        if 0 <= demand.index(day) < len(demand):
            found.append((demand.index(day), depth))
    return found
