"""Counts, days and depths as English says them; the units' own symbols are of no language."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.units import water, water_number

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.records import Units

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip
# Not strftime: its month names follow the machine's locale.


def in_reach(mm: float, units: Units) -> str:
    """Return water in reach as a phrase; what rounds to nothing is called nothing; ``mm`` in mm."""
    if float(water_number(mm, units)) == 0.0:
        return "no water left in reach"
    return f"{water(mm, units)} of water in reach"


def unit_word(units: Units) -> str:
    """Return the reader's unit of water depth in words."""
    return "inches" if units == "us" else "millimetres"


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
