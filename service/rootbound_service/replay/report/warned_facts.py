"""Warned or not, and did it come: every view by rung, against stress and against yields."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.replay.contingency import bad_seasons, tally
from rootbound_service.replay.judge import RUNGS, SHORT

if TYPE_CHECKING:
    from rootbound_service.replay.contingency import Seasons
    from rootbound_service.replay.harvests import Harvests
    from rootbound_service.replay.judge import Judged
    from rootbound_service.replay.views import View


@dataclass(frozen=True, slots=True)
class Warned:
    """One view and rung: seasons by whether they reached it, and by what came."""

    view: View
    rung: int
    short: Seasons
    """Against running short; drawing down or tight only after it is a miss."""
    poor: Seasons | None
    """Against a yield 10 % or more under its trend; None without yields."""


def warned_of(views: Sequence[View], harvests: Harvests | None) -> tuple[Warned, ...]:
    """Count hits, misses, false alarms and quiet seasons.

    Parameters
    ----------
    views
        What is looked at.
    harvests
        Yields, if there are any.
    """
    return tuple(_warned(view, rung, harvests) for view in views for rung in RUNGS)


def _warned(view: View, rung: int, harvests: Harvests | None) -> Warned:
    """One view and rung."""
    judged = view.judged
    in_time = np.array([_in_time(one, rung) for one in judged])
    short = tally(in_time, np.array([one.ran_short for one in judged]))
    if harvests is None:
        return Warned(view, rung, short, None)
    shares = [(one, harvests.share(one.year)) for one in judged]
    known = [(one, share) for one, share in shares if share is not None]
    reached = np.array([one.reached(rung) for one, _ in known])
    poor = bad_seasons(np.array([share for _, share in known]))
    return Warned(view, rung, short, tally(reached, poor))


def _in_time(judged: Judged, rung: int) -> bool:
    """Tell whether a rung was reached: one that looks ahead not after the field ran short."""
    lead = judged.lead[rung - 1]
    return judged.reached(rung) and (rung >= SHORT or lead is None or lead >= 0)
