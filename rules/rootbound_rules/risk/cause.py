"""Held rung beside free rung: whether the roots are the reason, or the drought is general."""

from __future__ import annotations

from enum import StrEnum

from rootbound_rules.risk.rungs import SHORT
from rootbound_rules.tables import load_table


class Cause(StrEnum):
    """What stands behind a rung."""

    NONE = "none"
    """Held and free roots both have enough."""
    ROOTS = "roots"
    """Held roots run short, free roots would have enough."""
    BOTH = "both"
    """Free roots would run short too; held roots are worse off."""
    GENERAL = "general"
    """Free roots would stand on the same rung: the drought is general."""
    NOT_ROOTS = "not_roots"
    """Free roots would stand higher: held roots have spared the water so far."""


def cause_of(rung: int, free_rung: int, held_past: float = 0.0, free_past: float = 0.0) -> Cause:
    """Name what stands behind a rung.

    Parameters
    ----------
    rung
        Of the held twin, after the ladder. [0-4]
    free_rung
        Of the free twin, after the same ladder. [0-4]
    held_past, free_past
        Stress-day equivalents of the past week. Where the rung rests on them and free roots
        had a good part of them too, the roots alone are not to blame, however the rungs fall
        to either side of a mark. [d]

    Returns
    -------
    Cause
        One for every pair of rungs.
    """
    if rung < free_rung:
        return Cause.NOT_ROOTS
    if rung == free_rung:
        return Cause.GENERAL if rung else Cause.NONE
    share = load_table("ladder").number("both.share")
    if rung >= SHORT and free_past > 0.0 and free_past >= share * held_past:
        return Cause.BOTH
    return Cause.BOTH if free_rung else Cause.ROOTS
