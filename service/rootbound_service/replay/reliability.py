"""Chances that were said against what came: are they honest, and do they tell anything?

Nights of one season are not independent of one another, so that how unsure a figure is comes
from drawing whole seasons.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from rootbound_service.errors import Problem, RefusedInput

Values = NDArray[np.float64]
EDGES = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0)
"""Of the classes of chance. [0-1]"""
DRAWS = 1000
MIDDLE_95 = (0.025, 0.975)
FEWEST_SEASONS = 5


@dataclass(frozen=True, slots=True)
class Class:
    """Nights on which about the same chance was said. [0-1]"""

    low: float
    high: float
    nights: int
    seasons: int
    said: float
    """Mean of the chances."""
    came: float
    """Share of these nights after which it came."""
    came_low: float | None
    came_high: float | None
    """95 % interval of that share over draws of seasons; None under five seasons."""


@dataclass(frozen=True, slots=True)
class Brier:
    """Brier score = reliability - resolution + uncertainty + spread - pull. [-]

    The last two are what classes hide: chances that differ within a class, and how far what
    came went with them. They vanish where a class holds one chance only.
    """

    score: float
    reliability: float
    """Squared distance of what was said from what came: 0 is honest."""
    resolution: float
    """Squared distance of what came from the base rate: more is better."""
    uncertainty: float
    """Score of always saying the base rate."""
    spread: float
    """Variance of chances within the classes."""
    pull: float
    """Twice the covariance of chance and event within the classes."""

    @property
    def skill(self) -> float | None:
        """Share of the base rate's score that was saved; None where it always or never came."""
        return 1.0 - self.score / self.uncertainty if self.uncertainty > 0.0 else None


def classes(
    said: Values,
    came: Values,
    season: NDArray[np.int64],
    rng: Generator,
    edges: Sequence[float] = EDGES,
) -> tuple[Class, ...]:
    """Sort nights by the chance that was said; classes without a night are left out.

    Parameters
    ----------
    said
        Chance of each night. [0-1]
    came
        1 where it came, else 0.
    season
        Which season each night belongs to.
    rng
        Draws seasons.
    edges
        Of the classes, from 0 to 1; an edge belongs to the class above, 1 to the last. [0-1]

    Raises
    ------
    RefusedInput
        If a chance or an event is none, or the arrays differ in length.
    """
    _check(said, came, season)
    which = _class_of(said, edges)
    found: list[Class] = []
    for index, (low, high) in enumerate(pairwise(edges)):
        mask = which == index
        if not mask.any():
            continue
        seasons = len(np.unique(season[mask]))
        ends = _share_range(came[mask], season[mask], rng)
        parts = (int(mask.sum()), seasons, float(said[mask].mean()), float(came[mask].mean()))
        found.append(Class(low, high, *parts, *ends))
    return tuple(found)


def brier(said: Values, came: Values, edges: Sequence[float] = EDGES) -> Brier:
    """Score chances, and split the score by what makes it.

    Parameters
    ----------
    said, came, edges
        As for :func:`classes`.

    Raises
    ------
    RefusedInput
        If a chance or an event is none, or the arrays differ in length.

    References
    ----------
    Brier 1950; Murphy 1973. J. Appl. Meteorol. 12:595-600; the terms within classes are those
    of Stephenson, Coelho & Jolliffe 2008. Weather Forecast. 23:752-757.
    """
    _check(said, came, came)
    which = _class_of(said, edges)
    base = float(came.mean())
    nights = np.bincount(which, minlength=len(edges) - 1)
    one = np.maximum(nights, 1)
    mean_said = np.bincount(which, said, len(edges) - 1) / one
    mean_came = np.bincount(which, came, len(edges) - 1) / one
    off_said, off_came = said - mean_said[which], came - mean_came[which]
    share = nights / len(said)
    return Brier(
        float(np.mean((said - came) ** 2)),
        float((share * (mean_said - mean_came) ** 2).sum()),
        float((share * (mean_came - base) ** 2).sum()),
        base * (1.0 - base),
        float(np.mean(off_said**2)),
        float(2.0 * np.mean(off_said * off_came)),
    )


def skill_range(
    said: Values,
    came: Values,
    season: NDArray[np.int64],
    rng: Generator,
    draws: int = DRAWS,
) -> tuple[float, float] | None:
    """95 % interval of the Brier skill over draws of seasons, None under five seasons.

    Parameters
    ----------
    said, came, season, rng
        As for :func:`classes`. A draw in which it always or never came is left out.
    draws
        How many.

    Raises
    ------
    RefusedInput
        If a chance or an event is none, or the arrays differ in length.
    """
    _check(said, came, season)
    _, which = np.unique(season, return_inverse=True)
    if which.max() + 1 < FEWEST_SEASONS:
        return None
    nights, events = np.bincount(which).astype(float), np.bincount(which, came)
    errors = np.bincount(which, (said - came) ** 2)
    drawn = rng.integers(0, len(nights), (draws, len(nights)))
    cases = nights[drawn].sum(axis=1)
    base = events[drawn].sum(axis=1) / cases
    mixed = (base > 0.0) & (base < 1.0)
    if not mixed.any():
        return None
    score = errors[drawn].sum(axis=1) / cases
    low, high = np.quantile(1.0 - score[mixed] / (base * (1.0 - base))[mixed], MIDDLE_95)
    return float(low), float(high)


def _class_of(said: Values, edges: Sequence[float]) -> NDArray[np.int64]:
    """Number of the class each chance falls into."""
    return np.asarray(np.clip(np.searchsorted(edges, said, "right") - 1, 0, len(edges) - 2))


def _share_range(
    came: Values, season: NDArray[np.int64], rng: Generator
) -> tuple[float | None, float | None]:
    """Interval of a share over draws of the seasons that have such a night."""
    _, which = np.unique(season, return_inverse=True)
    nights, events = np.bincount(which), np.bincount(which, came)
    if len(nights) < FEWEST_SEASONS:
        return None, None
    drawn = rng.integers(0, len(nights), (DRAWS, len(nights)))
    low, high = np.quantile(events[drawn].sum(axis=1) / nights[drawn].sum(axis=1), MIDDLE_95)
    return float(low), float(high)


def _check(said: Values, came: Values, season: NDArray[np.generic]) -> None:
    """Refuse what is no chance or no event."""
    if not len(said) == len(came) == len(season) or not len(said):
        what = f"{len(said)} chances, {len(came)} events, {len(season)} seasons"
        raise RefusedInput((Problem("chances", what, "give all three for every night"),))
    if not ((said >= 0.0) & (said <= 1.0)).all():
        at = int(np.argmin((said >= 0.0) & (said <= 1.0)))
        raise RefusedInput((Problem(f"chance {at}", f"is {said[at]:g}", "give 0 to 1"),))
    if not np.isin(came, (0.0, 1.0)).all():
        at = int(np.argmin(np.isin(came, (0.0, 1.0))))
        raise RefusedInput((Problem(f"event {at}", f"is {came[at]:g}", "give 0 or 1"),))
