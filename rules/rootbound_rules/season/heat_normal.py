"""Heat units of a season beside those of past years over the same days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.season.pack import same_day

if TYPE_CHECKING:
    from rootbound_rules.season.demand import Demand


@dataclass(frozen=True, slots=True)
class HeatNormal:
    """Heat units since planting in past years over the same days. [degF d]"""

    mean: float
    low: float
    """Passed in nine of ten years."""
    high: float
    """Passed in one of ten years."""


def heat_normal(
    demand: Demand, planted: date, through: date, years: Sequence[int]
) -> HeatNormal | None:
    """Sum the heat units of past years from the day of planting on.

    Parameters
    ----------
    demand
        The cell's days.
    planted
        When the crop was planted this year.
    through
        Last day to sum.
    years
        Past years whose weather is there.

    Returns
    -------
    HeatNormal or None
        None without a past year, or before a day has passed.
    """
    days = (through - planted).days + 1
    if days < 1 or not years:
        return None
    sums = [
        float(np.nansum(demand.gdd_f[(begin := demand.index(day)) : begin + days]))
        for day in (same_day(planted, planted.year, year) for year in years)
    ]
    low, high = np.quantile(sums, [0.1, 0.9])
    return HeatNormal(float(np.mean(sums)), float(low), float(high))
