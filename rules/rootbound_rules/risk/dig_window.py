"""When to dig: from V2 until the sixth collar shows, by the outlook's heat units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from rootbound_rules.crop.table import Stages
    from rootbound_rules.season.outlook import Outlook

WITH_A_WINDOW = ("maize",)
"""Crops for which a source says when to dig for a held crown."""

State = Literal["ahead", "open", "late", "past", "none", "unknown"]
"""``late``: past the window, up to V10; ``past``: later still; ``none``: no source has one
for the crop; ``unknown``: its heat units are not known."""


@dataclass(frozen=True, slots=True)
class DigWindow:
    """Where a field stands to its dig window; days are medians of the outlook's members."""

    state: State
    days: int | None
    """To the opening while ``ahead``, to the closing while ``open``; None where the window
    is behind or too few members come to it. [d]"""
    collars: float
    """That show today. [-]"""


def window_on(outlook: Outlook, today: date, crop: str = "maize") -> DigWindow:
    """Tell where a field stands to its dig window.

    Parameters
    ----------
    outlook
        Over all members.
    today
        The day of the night's run.
    crop
        Name of the crop; for one without a published window the state is ``none``.

    Returns
    -------
    DigWindow
        By the heat units of yesterday, the last day that is past.
    """
    t = max(outlook.day(today), 0)
    return window_of(outlook.gdd_f, t, outlook.plan.stages, crop)


def window_of(
    gdd_f: NDArray[np.float64], today: int, stages: Stages, crop: str = "maize"
) -> DigWindow:
    """Tell the same of heat units alone.

    Parameters
    ----------
    gdd_f
        Heat units since planting, shape (days, members). [degF d]
    today
        Position of today.
    stages
        Of the season.
    crop
        Name of the crop.
    """
    rows, yesterday = load_table("dig_list"), float(np.median(gdd_f[max(today - 1, 0)]))
    collars = stages.collars(yesterday)
    opens = stages.at_collar(rows.number("window.opens"))
    closes = stages.at_collar(rows.number("window.closes"))
    if crop not in WITH_A_WINDOW:
        return DigWindow("none", None, collars)
    if yesterday < opens:
        return DigWindow("ahead", _days_to(gdd_f, opens, today), collars)
    if yesterday < closes:
        return DigWindow("open", _days_to(gdd_f, closes, today), collars)
    last = stages.at_collar(rows.number("late.last"))
    return DigWindow("late" if yesterday < last else "past", None, collars)


def unknown_window(crop: str = "maize") -> DigWindow:
    """Give the window of a field whose heat units are not known.

    Parameters
    ----------
    crop
        Name of the crop.
    """
    return DigWindow("unknown" if crop in WITH_A_WINDOW else "none", None, 0.0)


def may_dig_again(collars: float) -> bool:
    """Tell whether a second dig at this stage shows whether held roots have crossed.

    Parameters
    ----------
    collars
        That show today. [-]
    """
    rows = load_table("dig_list")
    return rows.number("again.opens") <= collars < rows.number("again.closes")


def _days_to(gdd: NDArray[np.float64], target: float, today: int) -> int | None:
    """Median days from today to a sum of heat units, 0 if today brings it."""
    reached = gdd[today:] >= target
    if reached.any(axis=0).mean() < 0.5:
        return None
    first = np.where(reached.any(axis=0), reached.argmax(axis=0), len(reached))
    return int(np.median(first))
