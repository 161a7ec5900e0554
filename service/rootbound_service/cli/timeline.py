"""The rungs of a season by night, one line a month, one sign a night."""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from datetime import date, timedelta

from rootbound_service.notes.en.quantities import month
from rootbound_service.records import RiskRecord

SIGNS = {"unrated": "u", "unknown": "?", "waiting": "w", "finished": "f"}
NOT_YET = "."
KEY = "0 to 4 the rung, u unrated, ? unknown, w not up yet, f finished, . no night"


def timeline(history: Sequence[RiskRecord], through: date) -> list[str]:
    """Draw the rungs of a season.

    Parameters
    ----------
    history
        Its rows, oldest first; a night without a row was like the one before it.
    through
        The last night that was run.

    Returns
    -------
    list of str
        A line for each month and the key; empty without history.
    """
    if not history:
        return []
    signs = _signs(history, max(through, history[-1].night))
    first, last = min(signs), max(signs)
    lines: list[str] = []
    year, number = first.year, first.month
    while (year, number) <= (last.year, last.month):
        days = range(1, calendar.monthrange(year, number)[1] + 1)
        nights = "".join(signs.get(date(year, number, day), NOT_YET) for day in days)
        lines.append(f"{month(number)}  {nights}")
        year, number = (
            (year, number + 1) if number < len(calendar.month_name) - 1 else (year + 1, 1)
        )
    return [*lines, KEY]


def _signs(history: Sequence[RiskRecord], through: date) -> dict[date, str]:
    """The sign of every night from the first row on."""
    ends = [row.night for row in history[1:]] + [through + timedelta(days=1)]
    return {
        row.night + timedelta(days=ahead): _sign(row)
        for row, end in zip(history, ends, strict=True)
        for ahead in range((end - row.night).days)
    }


def _sign(row: RiskRecord) -> str:
    """The rung's number for a watched field, else the letter of why it has none."""
    if row.status == "watched" and row.rung is not None:
        return str(row.rung)
    return SIGNS.get(row.status, "?")
