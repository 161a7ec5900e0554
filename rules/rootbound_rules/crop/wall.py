"""What a furrow wall, or a pan, does to a root in today's water."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip, exp, power


@equation
def drying_exponent(clay_pct: float, organic_carbon_pct: float) -> float:
    """Exponent with which soil strength rises as it dries; below 0. [-]

    Parameters
    ----------
    clay_pct, organic_carbon_pct
        By mass. [%]

    References
    ----------
    ``dasilva_kay_1997`` (second-hand): ``c`` of the penetration-resistance curve.
    """
    c = -0.4805 - 0.1239 * clay_pct + 0.2080 * organic_carbon_pct
    return min(c, -0.01)  # c must stay below 0: strength falls with water


@equation
def top_layer_water(depletion_mm: float, tew_mm: float) -> float:
    """Water of the top layer between wilting point (0) and field capacity (1). [0-1]"""
    return clip(1.0 - depletion_mm / tew_mm, 0.0, 1.0)


@equation
def relative_strength(water: float, wilting_share: float, exponent: float) -> float:
    """Strength of soil relative to its strength at field capacity.

    Parameters
    ----------
    water
        Water between wilting point (0) and field capacity (1). [0-1]
    wilting_share
        Wilting point over field capacity. [-]
    exponent
        Drying exponent. [-]

    Returns
    -------
    float
        ``(theta/FC)**c``, at least 1. [-]

    References
    ----------
    ``dasilva_kay_1997``: ``Q = Q_fc (theta/FC)**c``. Not clipped: a clip makes all wall
    classes alike in dry soil.
    """
    return power(wilting_share + water * (1.0 - wilting_share), exponent)


@equation
def elongation(resistance_mpa: float, halving_mpa: float) -> float:
    """Root elongation relative to soil without resistance.

    Parameters
    ----------
    resistance_mpa
        Penetrometer resistance. [MPa]
    halving_mpa
        Resistance that halves elongation, ``Q50``. [MPa]

    References
    ----------
    ``bengough_2011``: halved at 0.8 to 2 MPa; the exponential form is our choice.
    """
    return exp(-0.6931471805599453 * resistance_mpa / halving_mpa)  # exp(-ln2 Q/Q50)


@equation
def crossing_share(
    strength: float, wall_mpa: float, class0_mpa: float, halving_mpa: float
) -> float:
    """Share of the axes put out today that cross the wall.

    Parameters
    ----------
    strength
        Relative strength of the wall in today's water. [-]
    wall_mpa, class0_mpa
        Resistance at field capacity of this wall and of one that crumbles. [MPa]
    halving_mpa
        Resistance that halves elongation. [MPa]

    Returns
    -------
    float
        ``P = min(1, f(Q)/f(Q of class 0))``: the extra restriction alone. [0-1]
    """
    return min(elongation(strength * (wall_mpa - class0_mpa), halving_mpa), 1.0)


@equation
def late_crossing(
    strength: float, wall_mpa: float, class0_mpa: float, halving_mpa: float, rate: float
) -> float:
    """Share of the trapped axes that cross today: ``r f(Q)/f(Q of class 0 at field capacity)``.

    Parameters are those of :func:`crossing_share` and ``rate``, the share a day in a moist
    wall that crumbles. [d-1]
    """
    return min(rate * elongation(strength * wall_mpa - class0_mpa, halving_mpa), 1.0)
