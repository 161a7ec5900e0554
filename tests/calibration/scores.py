"""How good chances and ranges were, once it is known what came true. Pure functions of arrays.

Nights of one season are not independent of one another: what their number proves is counted
in seasons, by clusters or by one night a season drawn at random.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.stats import binom

Values = NDArray[np.float64]
EDGES = (0.0, 0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.98, 1.0)
"""Of the classes of chance in a reliability table."""


def brier(chance: Values, happened: NDArray[np.bool_]) -> float:
    """Brier score: mean squared difference of chance and what happened (Brier 1950)."""
    return float(np.mean((chance - happened) ** 2))


def skill(score: float, reference: float) -> float:
    """Share of a reference's score that was saved: 1 perfect, 0 no better, below 0 worse."""
    return 1.0 - score / reference if reference > 0.0 else 0.0


@dataclass(frozen=True)
class Parts:
    """Brier score = reliability - resolution + uncertainty (Murphy 1973)."""

    reliability: float
    resolution: float
    uncertainty: float


def decompose(chance: Values, happened: NDArray[np.bool_]) -> Parts:
    """Split the Brier score by Murphy's three terms; exact, as each distinct chance is a class.

    Parameters
    ----------
    chance
        Of each case.
    happened
        What came true.
    """
    _, which = np.unique(np.round(chance, 9), return_inverse=True)
    cases = np.bincount(which)
    said = np.bincount(which, weights=chance) / cases
    seen = np.bincount(which, weights=happened.astype(float)) / cases
    base = float(happened.mean())
    share = cases / cases.sum()
    return Parts(
        float((share * (said - seen) ** 2).sum()),
        float((share * (seen - base) ** 2).sum()),
        base * (1.0 - base),
    )


@dataclass(frozen=True)
class Class:
    """One line of a reliability table."""

    low: float
    high: float
    cases: int
    seasons: int
    said: float
    """Mean chance."""
    seen: float
    """Share that came true."""
    bar_low: float
    bar_high: float
    """Where 90 % of ``seen`` would fall if ``said`` were right, each season counted once."""


def reliability(
    chance: Values, happened: NDArray[np.bool_], season: NDArray[np.int64]
) -> list[Class]:
    """Compare what was said with what was seen, class by class of chance.

    The bars are the consistency bars of Broecker & Smith 2007 (Weather and Forecasting
    22:651-661), here from the binomial with as many draws as there are seasons in the class.
    """
    found: list[Class] = []
    for low, high in pairwise(EDGES):
        inside = (chance >= low) & ((chance < high) | (high == 1.0))
        if not inside.any():
            continue
        seasons, said = len(np.unique(season[inside])), float(chance[inside].mean())
        bars = binom.ppf([0.05, 0.95], seasons, said) / seasons
        found.append(
            Class(
                low, high, int(inside.sum()), seasons, said, float(happened[inside].mean()),
                float(bars[0]), float(bars[1]),
            )
        )  # fmt: skip
    return found


def climatology(happened: NDArray[np.bool_], season: NDArray[np.int64], *groups: NDArray) -> Values:
    """Chance by the base rate of other seasons in the same group (leave one season out).

    Parameters
    ----------
    happened
        What came true.
    season
        Which season a case belongs to.
    groups
        What must be alike: climate, week after six collars, ... A group that no other season
        is in falls back to all other seasons.
    """
    labels = [np.unique(group, return_inverse=True)[1] for group in groups]
    keys = np.stack(labels, axis=1)
    _, group = np.unique(keys, axis=0, return_inverse=True)
    _, both = np.unique(np.stack([group, season], axis=1), axis=0, return_inverse=True)
    seen = happened.astype(float)
    hits = np.bincount(group, seen)[group] - np.bincount(both, seen)[both]
    cases = np.bincount(group)[group] - np.bincount(both)[both]
    _, own = np.unique(season, return_inverse=True)
    rest = (seen.sum() - np.bincount(own, seen)[own]) / np.maximum(
        len(seen) - np.bincount(own)[own], 1
    )
    return np.where(cases > 0, hits / np.maximum(cases, 1), rest)


def ranked(chances: Values, rung: NDArray[np.int64]) -> float:
    """Mean ranked probability score of chances of ordered classes (Epstein 1969); 0 perfect.

    Parameters
    ----------
    chances
        Shape (cases, classes), each row summing to 1.
    rung
        The class that came true.
    """
    classes = np.arange(chances.shape[1])
    came = classes[None, :] >= rung[:, None]
    return float(((np.cumsum(chances, axis=1) - came)[:, :-1] ** 2).sum(axis=1).mean())


@dataclass(frozen=True)
class Share:
    """A share of cases with its standard error."""

    share: float
    error: float
    cases: int
    seasons: int


def share(hit: NDArray[np.bool_], season: NDArray[np.int64]) -> Share:
    """Share of hits; its error counts seasons, not nights (clusters of cases).

    Parameters
    ----------
    hit
        Of each case.
    season
        Which season a case belongs to.
    """
    if len(hit) == 0:
        return Share(float("nan"), float("nan"), 0, 0)
    mean = float(hit.mean())
    _, which = np.unique(season, return_inverse=True)
    off = np.bincount(which, hit - mean)
    return Share(mean, float(np.sqrt((off**2).sum()) / len(hit)), len(hit), len(off))


def one_a_season(
    allowed: NDArray[np.bool_], season: NDArray[np.int64], rng: Generator
) -> NDArray[np.bool_]:
    """Pick one allowed case a season by chance, so that the picked are independent."""
    order = rng.permutation(np.flatnonzero(allowed))
    _, first = np.unique(season[order], return_index=True)
    picked = np.zeros(len(allowed), bool)
    picked[order[first]] = True
    return picked


def skill_error(
    mine: Values, other: Values, happened: NDArray[np.bool_], season: NDArray[np.int64]
) -> float:
    """Standard error of a Brier skill by leaving out one season at a time (jackknife).

    Parameters
    ----------
    mine, other
        Chances judged and of the reference.
    happened
        What came true.
    season
        Which season a case belongs to.
    """
    _, which = np.unique(season, return_inverse=True)
    lost = np.bincount(which, (mine - happened) ** 2)
    ref = np.bincount(which, (other - happened) ** 2)
    kept = np.maximum(ref.sum() - ref, 1e-12)
    skills = 1.0 - (lost.sum() - lost) / kept
    n = len(skills)
    return float(np.sqrt((n - 1) / n * ((skills - skills.mean()) ** 2).sum()))


def histogram(pit: Values, bins: int = 10) -> NDArray[np.int64]:
    """Count places of the truth among the members, in equal classes; flat when calibrated."""
    return np.histogram(pit, bins=bins, range=(0.0, 1.0))[0]
