"""The state of the weather's sources as lines for a terminal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.weather.status import SourceStatus

HEADS = (
    "source",
    "cells",
    "known through",
    "age",
    "gaps",
    "may change",
    "marked",
    "revised",
    "past",
)


def status_rows(found: Sequence[SourceStatus], today: date) -> list[list[str]]:
    """Give one row a source.

    Parameters
    ----------
    found
        The sources.
    today
        The day.
    """
    return [_row(one, today) for one in found]


def _row(one: SourceStatus, today: date) -> list[str]:
    """Cells of one source's row."""
    through, age = "-", "-"
    if one.last_days is not None:
        low, high = one.last_days
        through = str(high) if low == high else f"{low} to {high}"
        age = f"{(today - low).days} d"
    marked = ", ".join(f"{words} {count}" for words, count in sorted(one.marks.items()))
    past = f"{one.past_missing} cells to come" if one.past_missing else "complete"
    return [
        one.title,
        str(one.cells) if one.asked == one.cells else f"{one.cells} ({one.asked} asked)",
        through,
        age,
        str(one.gaps),
        f"{one.provisional:.0%}",
        marked or "none",
        str(one.revised),
        past,
    ]
