"""Marks values that cannot be right; it never edits one.

The checks, in order: hard limits, one value against another of the same day, radiation
against a clear sky. A later check leaves out what an earlier one marked. The structure of
an answer (every day once, none beyond those asked for) is checked where it is read.
"""

from __future__ import annotations

from enum import IntFlag
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_rules.season.values import Series

Flags = NDArray[np.uint8]
Mask = NDArray[np.bool_]


class Flag(IntFlag):
    """Why a value is stored but not used."""

    LIMIT = 1
    INTERNAL = 2
    RADIATION = 4


FLAG_WORDS = {
    Flag.LIMIT: "outside what is possible",
    Flag.INTERNAL: "contradicts another value of the same day",
    Flag.RADIATION: "not possible for the sky of that day",
}

# Limits of the agweather-qaqc documentation (temperature, wind, rain, radiation 5-700 W m-2);
# the dew point's upper end is its vapour pressure of 8 kPa, the lower end is our choice.
LIMITS = {
    "tmax_c": (-50.0, 60.0),
    "tmin_c": (-50.0, 60.0),
    "rain_mm": (0.0, 610.0),
    "solar_mj": (0.4, 60.0),
    "dewpoint_c": (-60.0, 41.5),
    "wind_m_s": (0.01, 35.0),
}

# Dew point over the day's minimum beyond this is suspect: principle of Estevez et al. 2011,
# the number is our choice.
DEWPOINT_ABOVE_TMIN_C = 3.0

# ASCE-EWRI 2005 compares with Rso; 10 % over it is the generous end of common practice.
# 4 % of Rso is 3 % of Ra, our choice for the darkest day.
CLEAR_SKY_MOST = 1.10
CLEAR_SKY_LEAST = 0.04
CLEAR_SKY_WORTH_MJ = 1.0


def check(columns: Mapping[str, Series], rso_mj: Series | None = None) -> dict[str, Flags]:
    """Flag what cannot be right.

    Parameters
    ----------
    columns
        Values by our names, one day after the other; NaN is missing and never flagged.
    rso_mj
        Radiation under a clear sky on the same days, else radiation is held to its hard
        limits only. [MJ m-2 d-1]

    Returns
    -------
    dict of uint8 arrays
        Bits of :class:`Flag` for every value, 0 for one that may be used.
    """
    flags = {name: _limits(name, values) for name, values in columns.items()}
    _internal(columns, flags)
    if rso_mj is not None and "solar_mj" in columns:
        _radiation(columns["solar_mj"], rso_mj, flags["solar_mj"])
    return flags


def flag_words(flags: int) -> str:
    """Say why a value is not used, for a person; empty for one that is."""
    return ", ".join(words for flag, words in FLAG_WORDS.items() if flags & flag)


def _limits(name: str, values: Series) -> Flags:
    """Flag values outside the hard limits."""
    low, high = LIMITS[name]
    return _bits((values < low) | (values > high), Flag.LIMIT)


def _internal(columns: Mapping[str, Series], flags: dict[str, Flags]) -> None:
    """Flag values of one day that contradict each other."""
    tmax, tmin, dewpoint = (_usable(columns, flags, n) for n in ("tmax_c", "tmin_c", "dewpoint_c"))
    if tmax is None or tmin is None:
        return
    crossed = tmax < tmin
    flags["tmax_c"] |= _bits(crossed, Flag.INTERNAL)
    flags["tmin_c"] |= _bits(crossed, Flag.INTERNAL)
    if dewpoint is not None:
        too_wet = (dewpoint > (tmax + tmin) / 2) | (dewpoint > tmin + DEWPOINT_ABOVE_TMIN_C)
        flags["dewpoint_c"] |= _bits(too_wet & ~crossed, Flag.INTERNAL)


def _radiation(solar_mj: Series, rso_mj: Series, flags: Flags) -> None:
    """Flag radiation that is brighter than a clear sky, or darker than the darkest day."""
    lit = (rso_mj > CLEAR_SKY_WORTH_MJ) & (flags == 0)
    bright = solar_mj > CLEAR_SKY_MOST * rso_mj
    dark = solar_mj < CLEAR_SKY_LEAST * rso_mj
    flags |= _bits(lit & (bright | dark), Flag.RADIATION)


def _usable(columns: Mapping[str, Series], flags: Mapping[str, Flags], name: str) -> Series | None:
    """Return a column without the values already flagged."""
    if name not in columns:
        return None
    return np.where(flags[name] == 0, columns[name], np.nan)


def _bits(mask: Mask, flag: Flag) -> Flags:
    """Turn a mask into flag bits."""
    return mask.astype(np.uint8) * np.uint8(flag)
