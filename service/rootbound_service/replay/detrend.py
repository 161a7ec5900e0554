"""Yields without what better seed and better farming add from year to year."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootbound_service.errors import Problem, RefusedInput

Values = NDArray[np.float64]
Years = NDArray[np.int64]
FEWEST_YEARS = 5
"""Of a trend, the year left out not counted."""


@dataclass(frozen=True, slots=True)
class Trend:
    """A straight line through yields by year."""

    slope: float
    """Gain a year, in the yields' unit."""
    intercept: float

    def at(self, years: Years | int) -> Values:
        """Return the trend's yield of a year, in the yields' unit."""
        return np.asarray(self.intercept + self.slope * np.asarray(years, np.float64))


@dataclass(frozen=True, slots=True, eq=False)
class Anomalies:
    """How far the yield of each year lay from the trend."""

    years: Years
    trend: Values
    """Expected of each year, in the yields' unit."""
    absolute: Values
    """Yield minus trend, in the yields' unit."""

    @property
    def share(self) -> Values:
        """Yield minus trend as a share of the trend. [-]"""
        return self.absolute / self.trend


def fit_trend(years: Years, values: Values) -> Trend:
    """Fit the median of the slopes between all pairs of years.

    A drought year bends it little: nearly three years of ten may be anything.

    Parameters
    ----------
    years
        In any order, gaps allowed.
    values
        Yield of each year, in any unit.

    Raises
    ------
    RefusedInput
        If there are fewer than five years.

    References
    ----------
    Theil 1950; Sen 1968. J. Am. Stat. Assoc. 63:1379-1389. The line lies so that as many
    years are above it as below.
    """
    from scipy.stats import theilslopes

    if len(years) < FEWEST_YEARS:
        wanted = f"give at least {FEWEST_YEARS} years with a yield"
        raise RefusedInput((Problem("yields", f"{len(years)} years make no trend", wanted),))
    at = np.asarray(years, np.float64)
    slope = float(theilslopes(values, at).slope)
    return Trend(slope, float(np.median(values - slope * at)))


def anomalies(years: Years, values: Values) -> Anomalies:
    """Measure every year against one trend through all years.

    Parameters
    ----------
    years, values
        As for :func:`fit_trend`.

    Raises
    ------
    RefusedInput
        If there are fewer than five years, or the trend falls to zero within them.
    """
    return _against(years, values, fit_trend(years, values).at(years))


def left_out_anomalies(years: Years, values: Values) -> Anomalies:
    """Measure every year against the trend through the other years.

    Parameters
    ----------
    years, values
        As for :func:`fit_trend`.

    Raises
    ------
    RefusedInput
        If there are fewer than six years, or the trend falls to zero within them.
    """
    others = ~np.eye(len(years), dtype=bool)
    expected = [
        float(fit_trend(years[mask], values[mask]).at(int(year)))
        for year, mask in zip(years, others, strict=True)
    ]
    return _against(years, values, np.array(expected))


def _against(years: Years, values: Values, trend: Values) -> Anomalies:
    """Compare yields with what was expected of them."""
    if not (trend > 0.0).all():
        year = int(years[int(np.argmin(trend))])
        what = f"their trend is {trend.min():.3g} in {year}, and a share of it means nothing"
        raise RefusedInput((Problem("yields", what, "give years whose trend is above zero"),))
    return Anomalies(years, trend, values - trend)
