"""What the outlook promises and threatens: onset by day, water by day, stress by stage, rungs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.stress import MIDDLE_80, NEVER, onset, quantiles
from rootbound_rules.risk.worst import worst_rung_shares
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.plan import Plan

    Cube = NDArray[np.float32]

Range = tuple[float, float, float]
"""Low, middle, high: the middle 80 % of the members."""


@dataclass(frozen=True, slots=True)
class Span:
    """A day with its range; ``last`` is None where over a tenth of the members never come to it."""

    middle: date
    first: date
    last: date | None


@dataclass(frozen=True, slots=True)
class StageStress:
    """Stress-day equivalents of one stage. [d]"""

    stage: str
    held_past: float
    """Median of what has been."""
    held_coming: Range
    free_past: float
    free_coming: Range


@dataclass(frozen=True, slots=True, eq=False)
class Prospects:
    """Both twins' days to come; arrays begin on today."""

    days: tuple[date, ...]
    held_onset_by: NDArray[np.float64]
    """Chance of having run short by the end of each day, shape (days,). [0-1]"""
    free_onset_by: NDArray[np.float64]
    held_onset: Span | None
    """None where under half of the members run short."""
    free_onset: Span | None
    held_water: NDArray[np.float64]
    """Low, middle and high water in reach, shape (3, days). [mm]"""
    free_water: NDArray[np.float64]
    stages: tuple[StageStress, ...]
    """Stages with any stress, in the order of the season."""
    held_rungs: tuple[float, ...]
    """Share of members by their own worst rung of the coming 14 days, rungs 0 to 4. [0-1]"""
    free_rungs: tuple[float, ...]
    held_chance: float
    """Chance that the held roots run short before black layer. [0-1]"""
    free_chance: float


def prospects(outlook: Outlook, today: date) -> Prospects:
    """Read the days to come.

    Parameters
    ----------
    outlook
        Both twins over all members.
    today
        The first day that is still to come.
    """
    t, mark = max(outlook.day(today), 0), load_table("ladder").number("onset_days")
    held, free = onset(outlook.held_stress, mark), onset(outlook.free_stress, mark)
    ends = np.arange(t, len(outlook.held_stress), dtype=np.float64) + 1.0
    return Prospects(
        days=tuple(outlook.date(t + ahead) for ahead in range(len(ends))),
        held_onset_by=_come(held, ends),
        free_onset_by=_come(free, ends),
        held_onset=_span(held, outlook.plan),
        free_onset=_span(free, outlook.plan),
        held_water=_water(outlook.held_water[t:]),
        free_water=_water(outlook.free_water[t:]),
        stages=_stages(outlook, t),
        held_rungs=worst_rung_shares(outlook, outlook.held_stress, t),
        free_rungs=worst_rung_shares(outlook, outlook.free_stress, t),
        held_chance=float((held < NEVER).mean()),
        free_chance=float((free < NEVER).mean()),
    )


def _come(onsets: NDArray[np.float64], ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of members whose onset lies before the end of each day."""
    return np.asarray((onsets[None, :] <= ends[:, None]).mean(axis=1))


def _span(onsets: NDArray[np.float64], plan: Plan) -> Span | None:
    """Day of the onset with its range, over all members."""
    low, middle, high = quantiles(onsets, MIDDLE_80)
    if middle == NEVER:
        return None
    last = None if high == NEVER else _date(plan, float(high))
    return Span(_date(plan, float(middle)), _date(plan, float(low)), last)


def _date(plan: Plan, moment: float) -> date:
    """Day in which a moment lies."""
    return plan.first + timedelta(days=int(moment))


def _water(cube: Cube) -> NDArray[np.float64]:
    """Low, middle and high of each day; nothing below none."""
    return quantiles(cube.astype(np.float64), MIDDLE_80)


def _stages(outlook: Outlook, t: int) -> tuple[StageStress, ...]:
    """Stress of both twins by the stage in which each member's crop stands."""
    stages = outlook.plan.stages
    begins = stages.begins()
    place = np.searchsorted([heat for _, heat in begins], outlook.gdd_f, side="right") - 1
    stressed = np.unique(place[(outlook.held_stress > 0.0) | (outlook.free_stress > 0.0)])
    found: list[StageStress] = []
    for k in map(int, stressed):  # most of some fifty stages have none
        name, here = begins[k][0], place == k
        held_past, held_coming = _split(outlook.held_stress, here, t)
        free_past, free_coming = _split(outlook.free_stress, here, t)
        if max(held_past, free_past, held_coming[2], free_coming[2]) > 0.0:
            found.append(StageStress(name, held_past, held_coming, free_past, free_coming))
    return tuple(found)


def _split(stress: Cube, here: NDArray[np.bool_], t: int) -> tuple[float, Range]:
    """Stress of one stage: what has been, and the range of what comes."""
    lost = np.where(here, stress, np.float32(0)).astype(np.float64)
    low, middle, high = quantiles(lost[t:].sum(axis=0), MIDDLE_80)
    return float(np.median(lost[:t].sum(axis=0))), (float(low), float(middle), float(high))
