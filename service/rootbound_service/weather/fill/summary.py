"""Where a place's last days come from, in a line that a person can read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.fill.draft import VITAL_ROWS, How

WORDS = ("highest temperature", "lowest temperature", "rain", "sunshine", "dew point", "wind")
"""In the order of ``QUANTITY_NAMES``."""

ENDINGS = (
    ((How.INTERPOLATED, How.FORMULA, How.CLIMATE), "estimated"),
    ((How.FORECAST,), "as it was forecast"),
    ((How.ASSUMED_DRY,), "taken as none"),
    ((How.MISSING,), "not known"),
)


def summary(
    names: Sequence[str],
    how: NDArray[np.uint8],
    source: NDArray[np.uint8],
    shift: NDArray[np.int8],
) -> str:
    """Say where values come from.

    Parameters
    ----------
    names
        Of the sources, in order of preference.
    how, source
        Origin of the values, shape (quantity, day).
    shift
        By source, whether its rain falls a day off the preferred one's.

    Returns
    -------
    str
        Such as "gridMET; 3 days from NASA POWER; wind of 2 days estimated".
    """
    if not how.shape[1]:
        return "no day is known"
    parts = [names[0] if (how == How.OBSERVED).any() else f"nothing from {names[0]}"]
    for rank, name in enumerate(names[1:], 1):
        theirs = source == rank
        if theirs.any():
            parts += _from_other(name, theirs, int(shift[rank]))
    for kinds, ending in ENDINGS:
        parts += [f"{words} {ending}" for words in _by_quantity(np.isin(how, kinds))]
    return "; ".join(parts)


def _from_other(name: str, theirs: NDArray[np.bool_], shift: int) -> list[str]:
    """What another source gave: whole days, or single quantities."""
    days = theirs[VITAL_ROWS].all(axis=0)
    parts = [f"{_days(int(days.sum()))} from {name}"] if days.any() else []
    parts += [f"{words} from {name}" for words in _by_quantity(theirs & ~days)]
    if shift:
        parts.append(f"{name}'s rain falls a day {'later' if shift > 0 else 'earlier'}")
    return parts


def _by_quantity(marked: NDArray[np.bool_]) -> list[str]:
    """Such as "wind of 2 days"; quantities with the same number of days are told together."""
    groups: dict[int, list[str]] = {}
    for words, days in zip(WORDS, marked.sum(axis=1), strict=True):
        if days:
            groups.setdefault(int(days), []).append(words)
    return [f"{_listed(words)} of {_days(days)}" for days, words in groups.items()]


def _listed(words: list[str]) -> str:
    """Join with commas and a last "and"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _days(count: int) -> str:
    """Such as "1 day"."""
    return f"{count} day" if count == 1 else f"{count} days"
