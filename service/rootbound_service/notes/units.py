"""Depths in the units in which a person reads them: numbers and symbols, in no language."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.records import Units

MM_PER_INCH = 25.4

_LENGTH = re.compile(r"\[(\d+(?:\.\d+)?) mm\]")


def water(mm: float, units: Units) -> str:
    """Depth of water as text.

    Parameters
    ----------
    mm
        Depth of water. [mm]
    units
        The reader's units.

    Returns
    -------
    str
        ``0.4 in`` or ``10 mm``; what is below zero is zero, for water in reach cannot be owed.
    """
    return f"{water_number(mm, units)} {unit_name(units)}"


def length(cm: float, units: Units) -> str:
    """Depth in the soil as text; ``cm`` in cm."""
    return f"{cm / 2.54:.0f} in" if units == "us" else f"{cm:.0f} cm"


def water_number(mm: float, units: Units) -> str:
    """Depth of water as a bare number in the reader's unit; ``mm`` in mm. [in or mm]"""
    shown = max(mm, 0.0) + 0.0  # + 0.0: no "-0.0"
    return f"{shown / MM_PER_INCH:.1f}" if units == "us" else f"{shown:.0f}"


def to_units(mm: float, units: Units) -> float:
    """Depth of water in the reader's unit, for an axis. [in or mm]"""
    return mm / MM_PER_INCH if units == "us" else mm


def unit_name(units: Units) -> str:
    """Short name of the reader's unit of water depth."""
    return "in" if units == "us" else "mm"


def localise(text: str, units: Units) -> str:
    """Replace lengths written ``[13 mm]`` by the reader's unit.

    Parameters
    ----------
    text
        A text of ``data/actions.toml``.
    units
        The reader's units.
    """
    return _LENGTH.sub(lambda found: water(float(found.group(1)), units), text)
