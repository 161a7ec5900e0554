"""What a count of roots says about the share that crosses the row."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.errors import RulesError


def crossed_share(
    crossing: int, held: int, quantile: float | None = None, prior: float = 0.5
) -> float:
    """Share of the axes that cross, after a dig that counted them.

    Parameters
    ----------
    crossing, held
        Nodal roots crossing the row and held along it, over all plants dug. [-]
    quantile
        Position in the posterior (0-1); None for its mean. [0-1]
    prior
        Both parameters of the Beta prior; 0.5 is Jeffreys' (row ``dig_prior``). [-]

    Returns
    -------
    float
        Share crossed, of the Beta(crossing + prior, held + prior) posterior. [0-1]

    Raises
    ------
    RulesError
        If a count is negative.
    """
    a, b = _posterior(crossing, held, prior)
    if quantile is None:
        return a / (a + b)
    return float(crossed_shares(crossing, held, np.array([quantile]), prior)[0])


def crossed_shares(
    crossing: int, held: int, quantiles: NDArray[np.float64], prior: float = 0.5
) -> NDArray[np.float64]:
    """Give the same share at many positions in the posterior.

    Parameters
    ----------
    crossing, held, prior
        As for :func:`crossed_share`.
    quantiles
        Positions. [0-1]

    Raises
    ------
    RulesError
        If a count is negative.
    """
    from scipy.special import betaincinv

    found: NDArray[np.float64] = betaincinv(*_posterior(crossing, held, prior), quantiles)
    return found


def _posterior(crossing: int, held: int, prior: float) -> tuple[float, float]:
    """Both parameters of the Beta posterior."""
    if crossing < 0 or held < 0:
        raise RulesError(f"roots counted cannot be negative: {crossing} crossing, {held} held")
    return crossing + prior, held + prior
