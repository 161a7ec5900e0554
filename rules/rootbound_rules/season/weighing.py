"""Weights of draws: what reports of leaves make likely, and what a few members stand for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Sequence

Numbers = NDArray[np.float64]
SHARES = (0.1, 0.5, 0.9)
"""Quantiles that are shown: the middle and the middle 80 %."""


def chance_rolled(stress: Numbers) -> Numbers:
    """Chance that a person reports leaves rolled at noon.

    A logistic curve in the day's stress of the crop as it stands, between two shares of
    wrong reports: ``e + (1 - 2 e) / (1 + exp(-(s - m) / w))``. Our choice; the rows of
    ``belief.toml`` say where its middle is from.

    Parameters
    ----------
    stress
        Stress-day equivalents of that day, ``1 - Ks``. [0-1]

    References
    ----------
    ``msu_kelley_water_needs``, ``illinois_1997_drought``.
    """
    rows = load_table("belief")
    middle, width = rows.number("rolled.middle_stress"), rows.number("rolled.width")
    wrong = rows.number("rolled.wrong")
    rolls = 1.0 / (1.0 + np.exp(-(np.asarray(stress, np.float64) - middle) / width))
    return np.asarray(wrong + (1.0 - 2.0 * wrong) * rolls)


def tempering(days: Sequence[int]) -> Numbers:
    """Return how much each report counts: less, the more others lie close in time.

    ``1 / sum_j exp(-|d_i - d_j| / alike)``: a report alone counts whole, n of one day
    count as one together. Our choice, row ``reports.alike_days``.

    Parameters
    ----------
    days
        Day of each report. [d]
    """
    at = np.asarray(days, np.float64)
    apart = np.abs(at[:, None] - at[None, :])
    alike = np.exp(-apart / load_table("belief").number("reports.alike_days"))
    return np.asarray(1.0 / alike.sum(axis=1))


def weights_of(log_likelihood: Numbers) -> Numbers:
    """Weights that sum to 1."""
    weights = np.exp(log_likelihood - log_likelihood.max())
    return np.asarray(weights / weights.sum())


def effective(weights: Numbers) -> float:
    """How many equal draws say as much (Kish). [-]"""
    return float(1.0 / np.square(weights).sum())


def weighted_quantiles(values: Numbers, weights: Numbers) -> tuple[float, float, float]:
    """Quantiles of weighted draws at ``SHARES``.

    Parameters
    ----------
    values, weights
        One a draw; weights sum to 1.
    """
    order = np.argsort(values, kind="stable")
    middle = np.cumsum(weights[order]) - 0.5 * weights[order]
    low, mid, high = np.interp(SHARES, middle, values[order])
    return float(low), float(mid), float(high)


def resampled(weights: Numbers, order: NDArray[np.intp], count: int, seed: int) -> NDArray[np.intp]:
    """Choose ``count`` draws that stand for the weighted ones, with equal weights.

    Systematic resampling along ``order``, so that the chosen ones cover what the order is
    by, as evenly as they can; then shuffled by the seed alone, so that the place of a
    member in that order goes with the same past year every night.

    Parameters
    ----------
    weights
        One a draw, summing to 1.
    order
        The draws from one end to the other of what matters.
    count
        Members wanted.
    seed
        Of the shuffling and of where in its step the first one falls.
    """
    chance = np.random.default_rng([seed, 5])
    at = (np.arange(count) + chance.uniform()) / count
    heap: Numbers = np.cumsum(weights[order])
    found = np.asarray(heap.searchsorted(at * heap[-1]), np.intp)
    chosen = order[np.minimum(found, len(order) - 1)]
    return np.asarray(chosen[chance.permutation(count)])
