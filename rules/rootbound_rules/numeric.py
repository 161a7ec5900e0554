"""The three transcendental functions the daily step uses.

The compiler replaces them in float32 by the polynomials of ``season.approximations``,
which state their error; in Python and in float64 they are the library's own.
"""

from __future__ import annotations

import math


def exp(x: float) -> float:
    """Return e to the power ``x``; 0 where that is too small to hold."""
    return math.exp(x) if x > -700.0 else 0.0


def power(base: float, exponent: float) -> float:
    """Return ``base ** exponent`` for a base above 0."""
    return math.exp(exponent * math.log(base))


def root(x: float) -> float:
    """Return the square root of ``x``."""
    return math.sqrt(x)


def clip(x: float, low: float, high: float) -> float:
    """Return ``x``, not below ``low`` and not above ``high``."""
    return min(max(x, low), high)
