"""How well one score a year tells the yields of those years.

A score is higher where stress was worse, so that a good one has a correlation near -1 with
the anomaly of the yield. Years are few: every figure comes with how unsure it is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from rootbound_service.errors import Problem, RefusedInput

Values = NDArray[np.float64]
Mask = NDArray[np.bool_]
FEWEST_YEARS = 5
"""Under these a correlation is "too few to say"."""
DRAWS = 4000
"""Of years, with return."""
MIDDLE_95 = (0.025, 0.975)


@dataclass(frozen=True, slots=True)
class Range:
    """A figure with its 95 % interval over draws of years."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Skill:
    """What one score is worth on some years; None is "too few to say" or "no such number"."""

    years: int
    pearson: Range | None = None
    spearman: Range | None = None
    left_out: float | None = None
    """1 - squared error of the prediction by the other years over that of their mean. [-]"""
    left_out_correlation: float | None = None
    """Of what the other years predicted with what came. [-]"""


def measure_skill(
    score: Values, anomaly: Values, rng: Generator, chosen: Mask | None = None
) -> Skill:
    """Compare a score with anomalies of yield.

    Parameters
    ----------
    score
        One a year, higher is worse; NaN leaves the year out.
    anomaly
        Of the yield, below zero is worse.
    rng
        Draws the years of the intervals.
    chosen
        Years to look at; None for all.

    Returns
    -------
    Skill
        Correlations are None under five years or for a score that never changes.

    Raises
    ------
    RefusedInput
        If the arrays differ in length.
    """
    _same_length(score, anomaly)
    mask = np.isfinite(score) & np.isfinite(anomaly)
    mask = mask if chosen is None else mask & chosen
    x, y = score[mask], anomaly[mask]
    if len(x) < FEWEST_YEARS:
        return Skill(len(x))
    predicted, mean = predict_left_out(x, y)
    error, reference = np.mean((y - predicted) ** 2), np.mean((y - mean) ** 2)
    return Skill(
        len(x),
        correlate(x, y, rng),
        correlate(x, y, rng, ranks=True),
        float(1.0 - error / reference) if reference > 0.0 else None,
        _plain(predicted, y),
    )


def correlate(
    x: Values, y: Values, rng: Generator, *, ranks: bool = False, draws: int = DRAWS
) -> Range | None:
    """Correlate two series, with the interval over draws of years.

    With 15 to 18 years such an interval holds the truth about 92 times in 100, not 95.

    Parameters
    ----------
    x, y
        One value a year.
    rng
        Draws years with return; a draw in which a series never changes is left out.
    ranks
        Spearman's instead of Pearson's.
    draws
        How many.

    Returns
    -------
    Range or None
        None where a series never changes.

    References
    ----------
    Efron & Tibshirani 1993, chapter 13: the percentile interval.
    """
    value = _plain(_ranked(x) if ranks else x, _ranked(y) if ranks else y)
    if value is None:
        return None

    def of_draws(which: NDArray[np.int64]) -> Values:
        a, b = x[which], y[which]
        return _rows(_ranked(a), _ranked(b)) if ranks else _rows(a, b)

    return _ranged(value, len(x), of_draws, rng, draws)


def gain(
    score: Values, other: Values, anomaly: Values, rng: Generator, *, draws: int = DRAWS
) -> Range | None:
    """Correlation of another score minus that of this one: above zero this one tells more.

    Parameters
    ----------
    score, other
        One a year each, higher is worse.
    anomaly
        Of the yield.
    rng
        Draws the same years for both.
    draws
        How many.
    """
    ours, theirs = _plain(score, anomaly), _plain(other, anomaly)
    if ours is None or theirs is None:
        return None

    def of_draws(which: NDArray[np.int64]) -> Values:
        y = anomaly[which]
        return _rows(other[which], y) - _rows(score[which], y)

    return _ranged(theirs - ours, len(score), of_draws, rng, draws)


def predict_left_out(score: Values, anomaly: Values) -> tuple[Values, Values]:
    """Predict each year from a straight line through the other years, and by their mean.

    Parameters
    ----------
    score, anomaly
        One value a year.

    Returns
    -------
    tuple
        Predictions of the line and of the mean, in the anomaly's unit.
    """
    n = len(score)
    others = np.broadcast_to(~np.eye(n, dtype=bool), (n, n))
    x = np.broadcast_to(score, (n, n))[others].reshape(n, n - 1)
    y = np.broadcast_to(anomaly, (n, n))[others].reshape(n, n - 1)
    dx, mean = x - x.mean(axis=1, keepdims=True), y.mean(axis=1)
    spread = (dx**2).sum(axis=1)
    told = spread > 0.0
    slope = np.where(told, (dx * y).sum(axis=1) / np.where(told, spread, 1.0), 0.0)
    return mean + slope * (score - x.mean(axis=1)), mean


def _ranged(
    value: float,
    years: int,
    of_draws: Callable[[NDArray[np.int64]], Values],
    rng: Generator,
    draws: int,
) -> Range:
    """Give a figure its interval over draws of years."""
    found = of_draws(rng.integers(0, years, (draws, years)))
    low, high = np.quantile(found[np.isfinite(found)], MIDDLE_95)
    return Range(value, float(low), float(high))


def _rows(x: Values, y: Values) -> Values:
    """Pearson's correlation of each row; NaN where a row never changes."""
    dx = x - x.mean(axis=-1, keepdims=True)
    dy = y - y.mean(axis=-1, keepdims=True)
    size = np.sqrt((dx**2).sum(axis=-1) * (dy**2).sum(axis=-1))
    flat = (np.ptp(x, axis=-1) == 0.0) | (np.ptp(y, axis=-1) == 0.0)
    found = (dx * dy).sum(axis=-1) / np.where(flat, 1.0, size)
    return np.where(flat, np.nan, np.clip(found, -1.0, 1.0))


def _plain(x: Values, y: Values) -> float | None:
    """Pearson's correlation, None where a series never changes."""
    found = float(_rows(x, y))
    return found if np.isfinite(found) else None


def _ranked(values: Values) -> Values:
    """Ranks along the last axis, ties at their mean."""
    from scipy.stats import rankdata

    return np.asarray(rankdata(values, axis=-1), np.float64)


def _same_length(score: Values, anomaly: Values) -> None:
    """Refuse series of different years."""
    if len(score) != len(anomaly):
        what = f"{len(score)} scores stand beside {len(anomaly)} yields"
        raise RefusedInput((Problem("scores", what, "give one score for each year of yields"),))
