"""The worst rung each member comes to in the coming days, by the ladder's own marks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_rules.risk.windows import ROWS, windows
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.season.outlook import Outlook

    Cube = NDArray[np.float32]

AHEAD_DAYS = 14
"""Nights looked at, tonight included: as far as the first rung looks."""


def worst_rung_shares(
    outlook: Outlook, stress: Cube, today: int, ahead: int = AHEAD_DAYS
) -> tuple[float, ...]:
    """Share of members by the worst rung that each comes to.

    A single member knows its own days to come, so that a chance is 0 or 1 in it: it is tight
    on a night whose coming 7 days hold the stress that ``tight`` takes.

    Parameters
    ----------
    outlook
        Both twins over all members.
    stress
        Of one of them, shape (days, members).
    today
        Position of the first night.
    ahead
        How many nights. [d]

    Returns
    -------
    tuple of float
        Of rungs 0 to 4; they add up to 1.
    """
    rows = load_table("ladder")
    sums = np.vstack([np.zeros(stress.shape[1]), np.cumsum(stress, axis=0, dtype=np.float64)])
    nights = np.arange(today, min(today + ahead, len(stress)))
    heat = outlook.gdd_f[np.maximum(nights - 1, 0)]
    stages = outlook.plan.stages
    worst = np.zeros(heat.shape, np.int64)
    for rung, (name, span, mark) in enumerate(_marks(), 1):
        coming = span > 0
        begin = nights if coming else np.maximum(nights + span, 0)
        end = np.minimum(nights + span, len(stress)) if coming else nights
        reached = sums[end] - sums[begin] >= mark
        if not coming:  # what has been counts only once the crop is old enough
            reached &= heat >= stages.at_collar(rows.number(f"{name}.from_collar"))
        if name == "failing":
            reached &= heat < stages.r5
        worst = np.where(reached, rung, worst)
    top = worst.max(axis=0) if len(nights) else np.zeros(stress.shape[1], np.int64)
    counts = np.bincount(top, minlength=len(RUNG_NAMES))
    return tuple(float(count) for count in counts / len(top))


def _marks() -> list[tuple[str, int, float]]:
    """Name, window and stress of each rung from 1 on."""
    spans, marks = windows()
    return [(name, int(d), float(m)) for (name, _), d, m in zip(ROWS, spans, marks, strict=True)]
