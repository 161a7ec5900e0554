"""What a count of roots says about the share that crosses the row."""

from __future__ import annotations

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
    if crossing < 0 or held < 0:
        raise RulesError(f"roots counted cannot be negative: {crossing} crossing, {held} held")
    a, b = crossing + prior, held + prior
    if quantile is None:
        return a / (a + b)
    from scipy.special import betaincinv

    return float(betaincinv(a, b, quantile))
