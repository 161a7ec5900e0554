"""Why a value is hard to believe, as bits; which of the reasons keep a value out of use."""

from __future__ import annotations

from enum import IntFlag

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.uint16]
"""Bits of :class:`Flag` for every value, shape (quantity, cell, day)."""


class Flag(IntFlag):
    """What a check found about a value."""

    LIMIT = 1
    INTERNAL = 2
    RADIATION = 4
    NAUGHT = 8
    OUTLIER = 16
    GAP = 32
    RAIN_OUTLIER = 64
    STUCK = 128
    STEP = 256
    CROSS = 512
    REVISED = 1024
    SCALE = 2048


UNUSABLE = np.uint16(
    Flag.LIMIT | Flag.INTERNAL | Flag.RADIATION | Flag.NAUGHT | Flag.OUTLIER | Flag.GAP | Flag.SCALE
)
"""A value with one of these is stored, and not used."""

SUSPECT = np.uint16(Flag.RAIN_OUTLIER | Flag.STUCK | Flag.STEP | Flag.CROSS)
"""Shown and counted; used unless another source contradicts it.

Real storms, real cold fronts and real weeks of the same wind trip these checks too: throwing
the value away would lose the very day that matters. Our choice.
"""

FLAG_WORDS = {
    Flag.LIMIT: "outside what is possible",
    Flag.INTERNAL: "contradicts another value of the same day",
    Flag.RADIATION: "not possible for the sky of that day",
    Flag.NAUGHT: "both temperatures are exactly the naught of a scale",
    Flag.OUTLIER: "far from what is usual at that time of year",
    Flag.GAP: "far beyond every other value of that month",
    Flag.RAIN_OUTLIER: "rain far beyond what is usual",
    Flag.STUCK: "the same value too many days in a row",
    Flag.STEP: "a jump from the day before that is hard to believe",
    Flag.CROSS: "another source says something very different",
    Flag.REVISED: "changed by the service later",
    Flag.SCALE: "the whole answer is on another scale, as if in other units",
}


def flag_words(bits: int) -> str:
    """Say what the checks found about a value, for a person; empty where nothing.

    Parameters
    ----------
    bits
        Of :class:`Flag`.
    """
    return ", ".join(words for flag, words in FLAG_WORDS.items() if bits & flag)


def counts(flags: Flags) -> dict[str, int]:
    """Count the values that each check marked, by its name in small letters.

    Parameters
    ----------
    flags
        Bits of :class:`Flag`, any shape.

    Returns
    -------
    dict
        Only checks that marked something.
    """
    found = {flag.name or "": int(np.count_nonzero(flags & np.uint16(flag))) for flag in Flag}
    return {name.lower(): many for name, many in found.items() if many}
