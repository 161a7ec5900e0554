"""Stress-day equivalents: sums over days, onset, days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Cube = NDArray[np.float32]
NEVER = np.inf
"""Day that stands for an onset that does not come."""
MIDDLE_80 = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Ahead:
    """How many days sooner the held roots run short; the range is the middle 80 %.

    ``high`` is None with ``kind`` ``days`` where free roots would not run short at all in
    more than a tenth of the members.
    """

    kind: Literal["days", "free_would_not", "neither"]
    median: float | None = None
    low: float | None = None
    high: float | None = None


def quantiles(
    values: NDArray[np.float64], shares: tuple[float, ...], *, stratified: bool = False
) -> NDArray[np.float64]:
    """Quantiles over the last axis, at Weibull's or at Hazen's plotting positions.

    The k-th of n exchangeable values is passed by the next one with chance k / (n + 1), so
    that a range of Weibull's quantiles holds what it says; other estimators are too narrow
    for few members. Draws that are spread evenly are no such sample: the k-th of them stands
    for the k-th of n equal parts, and so for its middle, (k - 1/2) / n.

    Parameters
    ----------
    values
        Members on the last axis; infinity is a value like any other.
    shares
        Wanted. [0-1]
    stratified
        Whether the values differ by evenly spread draws more than by chance.

    Returns
    -------
    ndarray
        Shares on the first axis.

    References
    ----------
    ``hyndman_fan_1996``, definitions 6 and 5.
    """
    ordered = np.sort(values, axis=-1)
    n = ordered.shape[-1]
    found: list[NDArray[np.float64]] = []
    for share in shares:
        # definition 5: p = (k - 1/2) / n; definition 6: p = k / (n + 1)
        rank = share * n + 0.5 if stratified else share * (n + 1)
        place = min(max(rank, 1.0), float(n)) - 1.0
        below, part = int(place), place - int(place)
        low, high = ordered[..., below], ordered[..., min(below + 1, n - 1)]
        with np.errstate(invalid="ignore"):  # between two infinities
            between = low + part * (high - low) if part > 0.0 else low
        found.append(np.where(np.isnan(between), high, between))
    return np.stack(found)


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


def onset(stress: Cube, mark: float) -> NDArray[np.float64]:
    """Moment at which the season's sum passes ``mark``, ``NEVER`` where it does not. [d]

    Parameters
    ----------
    stress
        Stress-day equivalents, shape (days, members).
    mark
        Stress-day equivalents that count as running short. [d]

    Returns
    -------
    ndarray
        Position of the day, and the part of that day's stress that it took: a day's stress
        is spread evenly over it.
    """
    sums = np.cumsum(stress, axis=0, dtype=np.float64)
    passed = sums > mark
    day = passed.argmax(axis=0)
    member = np.arange(int(stress.shape[1]))
    lost = stress[day, member].astype(np.float64)
    before = sums[day, member] - lost
    part = (mark - before) / np.where(lost > 0.0, lost, 1.0)
    return np.where(passed.any(axis=0), day + np.clip(part, 0.0, 1.0), NEVER)


def days_ahead(free: NDArray[np.float64], held: NDArray[np.float64]) -> Ahead:
    """Onset of the free twin minus onset of the held twin, over the members.

    A member in which only the held roots run short counts as one in which free roots run
    short later than anything: to leave it out would make the range of the others too small.
    How far ahead rests on the uncertain numbers more than on the weather, so that the members
    are read as the evenly spread draws they are.

    Parameters
    ----------
    free, held
        Onsets of each member, from :func:`onset`. [d]
    """
    short = held < NEVER
    if short.mean() < 0.5:
        return Ahead("neither")
    low, middle, high = quantiles(free[short] - held[short], MIDDLE_80, stratified=True)
    if not np.isfinite(middle):
        return Ahead("free_would_not", low=_known(low))
    return Ahead("days", float(middle), float(low), _known(high))


def _known(days: float) -> float | None:
    """Days, or None where there is no end to them."""
    return float(days) if np.isfinite(days) else None
