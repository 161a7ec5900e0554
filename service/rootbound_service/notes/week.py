"""What a weekly letter tells beside the fields themselves, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.notes.dig_lists import DigList

if TYPE_CHECKING:
    from rootbound_service.store.unreached import Unreached


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a warning of last week, so far."""

    field_id: int
    night: date
    """When it was decided."""
    rung: int
    """The rung that was said then. [0-4]"""
    rung_now: int | None
    stress: float | None
    """Stress-day equivalents since, by the weather that came; None: not known. [d]"""
    rain_mm: float | None
    """Rain since. [mm]"""
    dug: bool = True
    """Whether the warning was of roots that were dug, not of free ones."""
    over: bool = False
    """Whether the season has ended."""


@dataclass(frozen=True, slots=True)
class Week:
    """What a reader's week was like, beside how the fields stand."""

    digs: DigList = field(default_factory=DigList)
    outcomes: tuple[Outcome, ...] = ()
    unreached: tuple[tuple[str, Unreached], ...] = ()
    """Notes that did not get to the reader, each with the name of its field."""
    silent: Mapping[int, date] = field(default_factory=dict[int, date])
    """Fields the reader wants to hear nothing of, each with the last silent day."""
    page_url: str = ""
    """The letter as a page with all fields; empty: there is no web address."""
