"""The height factor of FAO-56 Eq. 70 and 72 as a polynomial, for the members' loop.

A power there costs as much as the rest of the canopy. Of a crop that grows to 2 m from an
eighth of that, the polynomial of degree 7 is off by less than 1e-4 of the factor, which moves
the upper limit of the coefficients by less than 3e-5.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from rootbound_rules.water.coefficients import height_factor

DEGREE = 7
NODES = 200


@lru_cache(maxsize=256)  # one a crop
def fit_height(shortest_m: float, tallest_m: float) -> tuple[float, float, tuple[float, ...]]:
    """Fit the height factor between two heights.

    Parameters
    ----------
    shortest_m, tallest_m
        Height at planting, where the curve starts, and at full canopy. [m]

    Returns
    -------
    tuple
        Middle [m], scale [m-1] and coefficients from degree 0 up: the factor is their
        polynomial in ``(height - middle) * scale``.
    """
    middle, half = 0.5 * (tallest_m + shortest_m), 0.5 * (tallest_m - shortest_m)
    t = np.cos(np.linspace(0.0, np.pi, NODES))
    wanted = [height_factor(middle + half * float(x)) for x in t]
    fitted = Chebyshev.fit(t, wanted, DEGREE, domain=[-1.0, 1.0])
    line = fitted.convert(kind=Polynomial)
    return middle, 1.0 / half, tuple(float(c) for c in line.coef)
