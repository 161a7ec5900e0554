"""Stress-day equivalents: sums over days, onset, days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Cube = NDArray[np.float32]
NEVER = 10**6
"""Day that stands for an onset that does not come."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """How many days sooner the held roots run short; the range is the middle 80 %."""

    kind: Literal["days", "free_would_not", "neither"]
    median: float | None = None
    low: float | None = None
    high: float | None = None


def coming(stress: Cube, today: int, days: int) -> NDArray[np.float64]:
    """Stress of the coming ``days`` from ``today`` on, one sum a member. [d]

    Parameters
    ----------
    stress
        Stress-day equivalents, shape (days, members).
    today
        Position of today.
    days
        How many days, today included.
    """
    return np.asarray(stress[today : today + days].sum(axis=0, dtype=np.float64))


def past(stress: Cube, today: int, days: int) -> NDArray[np.float64]:
    """Stress of the ``days`` before ``today``, one sum a member. [d]"""
    return np.asarray(stress[max(today - days, 0) : max(today, 0)].sum(axis=0, dtype=np.float64))


def onset(stress: Cube, mark: float) -> NDArray[np.int64]:
    """First day on which the season's sum passes ``mark``, ``NEVER`` where it does not. [d]

    Parameters
    ----------
    stress
        Stress-day equivalents, shape (days, members).
    mark
        Stress-day equivalents that count as running short. [d]
    """
    passed = np.cumsum(stress, axis=0, dtype=np.float64) > mark
    return np.where(passed.any(axis=0), passed.argmax(axis=0), NEVER)


def days_ahead(free: NDArray[np.int64], held: NDArray[np.int64]) -> Ahead:
    """Onset of the free twin minus onset of the held twin, over the members.

    Parameters
    ----------
    free, held
        Onsets of each member, from :func:`onset`. [d]
    """
    short, both = held < NEVER, (held < NEVER) & (free < NEVER)
    if short.mean() < 0.5:
        return Ahead("neither")
    if both.sum() < 0.5 * short.sum():
        return Ahead("free_would_not")
    low, middle, high = np.quantile((free - held)[both], [0.1, 0.5, 0.9])
    return Ahead("days", float(middle), float(low), float(high))
