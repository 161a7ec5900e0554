"""Yields of past years as what the seasons are held against: how far each lay from its trend."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.replay.detrend import Anomalies, anomalies, fit_trend, left_out_anomalies
from rootbound_service.replay.skill import FEWEST_YEARS
from rootbound_service.replay.yields import Unit, Yields

FEWEST_FOR_LEFT_OUT = 6
"""Years with a yield from which on each has a trend through five others."""


@dataclass(frozen=True, slots=True, eq=False)
class Harvests:
    """Yields with their trend; all years of the table, played or not."""

    name: str
    """Of the table."""
    unit: Unit
    slope: float
    """Gain a year, in the unit."""
    all_years: Anomalies
    """Against one trend through all years."""
    others: Anomalies | None
    """Each against the trend through the others; None where years are too few."""

    def share(self, year: int) -> float | None:
        """Anomaly of a year as a share of its trend; None without a yield. [-]

        Parameters
        ----------
        year
            Of the harvest.
        """
        at = np.flatnonzero(self.all_years.years == year)
        return float(self.all_years.share[at[0]]) if len(at) else None


def harvests_of(yields: Yields, years: Collection[int], name: str) -> Harvests:
    """Set yields against their trend.

    Parameters
    ----------
    yields
        By year.
    years
        Of the seasons they are compared with.
    name
        Of the table, for what is wrong with it.

    Raises
    ------
    RefusedInput
        If fewer than five seasons have a yield, or the yields make no trend.
    """
    both = sorted(set(years) & set(yields.by_year))
    if len(both) < FEWEST_YEARS:
        what = f"has the yields of {len(both)} of the {len(set(years))} years that are played"
        wanted = f"give yields of {FEWEST_YEARS} of them or more, or leave --yields out"
        raise RefusedInput((Problem(name, what, wanted),))
    at, values = np.array(list(yields.by_year)), np.array(list(yields.by_year.values()))
    enough = len(at) >= FEWEST_FOR_LEFT_OUT
    return Harvests(
        name,
        yields.unit,
        fit_trend(at, values).slope,
        anomalies(at, values),
        left_out_anomalies(at, values) if enough else None,
    )
