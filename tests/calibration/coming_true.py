"""What may come true of a field, the same for a member of an outlook and for the truth.

Arrays have shape (days, members); the truth is an array with one member. Written apart from
the rules' own reading of an outlook, so that the truth is not judged by what it judges.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from rootbound_rules.crop.table import Stages

Values = NDArray[np.float64]
HORIZONS = (7, 14, 28)
TWINS = ("held", "free")
RUNG_NIGHTS = 14
EVENTS = (
    *(f"stress{n}_{twin}" for twin in TWINS for n in (7, 14)),
    *(f"onset{n}_{twin}" for twin in TWINS for n in (*HORIZONS, "_layer")),
    *(f"rung{k}_or_worse" for k in range(1, 5)),
)


@dataclass(frozen=True)
class Twins:
    """Stress of both twins and heat, (days, members) each; stages are the field's."""

    held: Values
    free: Values
    gdd_f: Values
    stages: Stages


def onset(stress: Values) -> Values:
    """When the season's sum of stress passes the mark, within the day; inf where never. [d]"""
    mark = load_table("ladder").number("onset_days")
    total = np.cumsum(stress, axis=0, dtype=np.float64)
    passed = total > mark
    first = passed.argmax(axis=0)
    members = np.arange(stress.shape[1])
    left = mark - (total[first, members] - stress[first, members])
    part = left / np.maximum(stress[first, members], 1e-12)
    return np.where(passed.any(axis=0), first + np.clip(part, 0.0, 1.0), np.inf)


def days_ahead(twins: Twins) -> Values:
    """Onset of free roots minus onset of held ones; NaN where held roots never run short. [d]"""
    held, free = onset(twins.held), onset(twins.free)
    return np.where(np.isfinite(held), free - np.where(np.isfinite(held), held, 0.0), np.nan)


def worst_rung(twins: Twins, today: int) -> NDArray[np.int64]:
    """Each member's own worst rung of the coming nights, by its own days and no chance."""
    rows, sums = load_table("ladder"), _running(twins.held)
    worst = np.zeros(twins.held.shape[1], np.int64)
    for night in range(today, today + RUNG_NIGHTS):
        gdd = twins.gdd_f[max(night - 1, 0)]
        grown = gdd >= twins.stages.at_collar(rows.number("short.from_collar"))
        fails = (gdd >= twins.stages.at_collar(rows.number("failing.from_collar"))) & (
            gdd < twins.stages.r5
        )
        for rung, name, where in (
            (1, "drawing_down", True),
            (2, "tight", True),
            (3, "short", grown),
            (4, "failing", fails),
        ):
            days = int(rows.number(f"{name}.days"))
            begin = night if rung < 3 else max(night - days, 0)
            stress = sums[min(begin + days, len(sums) - 1)] - sums[begin]
            reached = (stress >= rows.number(f"{name}.stress")) & where
            worst = np.maximum(worst, np.where(reached, rung, 0))
    return worst


def events(twins: Twins, today: int) -> dict[str, NDArray[np.bool_]]:
    """Whether each of ``EVENTS`` comes true, member by member.

    Parameters
    ----------
    twins
        Both twins.
    today
        Position of the night's own day: the first of the coming ones.
    """
    rows = load_table("ladder")
    found: dict[str, NDArray[np.bool_]] = {}
    for twin in TWINS:
        stress: Values = getattr(twins, twin)
        sums, short = _running(stress), onset(stress)
        for name in ("tight", "drawing_down"):
            days = int(rows.number(f"{name}.days"))
            coming = sums[today + days] - sums[today]
            found[f"stress{days}_{twin}"] = coming >= rows.number(f"{name}.stress")
        for days in HORIZONS:
            found[f"onset{days}_{twin}"] = short <= today + days
        found[f"onset_layer_{twin}"] = np.isfinite(short)
    rung = worst_rung(twins, today)
    for k in range(1, 5):
        found[f"rung{k}_or_worse"] = rung >= k
    return found


def _running(stress: Values) -> Values:
    """Sums before each day, one row more than days."""
    return np.vstack([np.zeros((1, stress.shape[1])), np.cumsum(stress, axis=0, dtype=np.float64)])
