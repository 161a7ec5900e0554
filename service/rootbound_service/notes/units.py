"""Numbers and days in the units and order in which a person reads them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.records import Units

MM_PER_INCH = 25.4

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip
# Not strftime: its month names follow the machine's locale.

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


def unit_word(units: Units) -> str:
    """Return the reader's unit of water depth in words."""
    return "inches" if units == "us" else "millimetres"


def in_reach(mm: float, units: Units) -> str:
    """Return water in reach as a phrase; what rounds to nothing is called nothing; ``mm`` in mm."""
    if float(water_number(mm, units)) == 0.0:
        return "no water left in reach"
    return f"{water(mm, units)} of water in reach"


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


def day(when: date, units: Units) -> str:
    """Day and month in words: ``July 14`` or ``14 July``."""
    month = _MONTHS[when.month - 1]
    return f"{month} {when.day}" if units == "us" else f"{when.day} {month}"


def short_day(when: date, units: Units) -> str:
    """Day and month, shortened: ``Jul 14`` or ``14 Jul``."""
    month = _MONTHS[when.month - 1][:3]
    return f"{month} {when.day}" if units == "us" else f"{when.day} {month}"


def month(number: int) -> str:
    """Short name of a month, 1 to 12."""
    return _MONTHS[number - 1][:3]


def count(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun: ``1 field``, ``3 fields``."""
    return f"{number} {one if number == 1 else many or one + 's'}"
