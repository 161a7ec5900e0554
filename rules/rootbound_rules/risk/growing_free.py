"""Whether roots that were held have grown free. Pure functions of an outlook."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.stages import gdd_at_collar
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.plan import Plan


def grown_free(outlook: Outlook, today: date, rung: int, free_rung: int) -> bool:
    """Tell whether a field's roots were held and have grown out of it.

    Not before the free roots have come to the row middle and all nodal axes are out: until
    then free roots still widen, so that a reach that grew may fall again. From then on the
    reach only grows, unless another dig finds otherwise.

    Parameters
    ----------
    outlook
        Both twins over all members.
    today
        The day of the night's run; yesterday's reach is the last one known.
    rung, free_rung
        Of both twins tonight; while they differ nothing good is said. [0-4]

    Returns
    -------
    bool
        Whether the median reach once was small and now is nearly whole in most members.
    """
    rows, yesterday = load_table("ladder"), outlook.day(today) - 1
    if rung != free_rung or yesterday < 0:
        return False
    plan, heat = outlook.plan, np.median(outlook.gdd_f, axis=1)
    enough = outlook.reach[yesterday] >= rows.number("grown_free.reach")
    now = float(heat[yesterday]), float(enough.mean())
    if not looks_free(plan, *now, 0.0):
        return False
    begin = _heat_at(plan, rows.number("grown_free.from_collar"))
    return looks_free(plan, *now, _least(outlook, heat >= begin, yesterday))


def looks_free(plan: Plan, heat: float, whole: float, least: float) -> bool:
    """Tell whether roots that reached so little reach nearly everything by now.

    Parameters
    ----------
    plan
        Of the field.
    heat
        Heat units since planting by yesterday, the members' median. [degF d]
    whole
        Share of members whose roots reach nearly everything. [0-1]
    least
        The least of the days' median reaches so far. [0-1]
    """
    rows = load_table("ladder")
    if heat < _heat_at(plan, max(plan.width_end, plan.axes_last)):
        return False
    return whole >= rows.number("grown_free.share") and least < rows.number("grown_free.once_under")


def held_again(outlook: Outlook, today: date) -> bool:
    """Tell whether roots that were said to have grown free are held after all.

    Only another dig, or a correction, can bring this about.

    Parameters
    ----------
    outlook
        Both twins over all members.
    today
        The day of the night's run.
    """
    yesterday = max(outlook.day(today) - 1, 0)
    return reaches_little(float(np.median(outlook.reach[yesterday])))


def reaches_little(reach: float) -> bool:
    """Tell whether roots reach no more than those that are held.

    Parameters
    ----------
    reach
        The members' median. [0-1]
    """
    return reach < load_table("ladder").number("grown_free.once_under")


def _least(outlook: Outlook, grown: NDArray[np.bool_], yesterday: int) -> float:
    """Smallest median reach of the days so far on which the crop was far enough. [0-1]"""
    days = np.flatnonzero(grown[: yesterday + 1])
    return float(np.median(outlook.reach[days], axis=1).min()) if len(days) else 1.0


def _heat_at(plan: Plan, collar: float) -> float:
    """Heat units at which a collar shows. [degF d]"""
    return gdd_at_collar(
        collar, plan.emergence, plan.collar_early, plan.collar_late, plan.collar_turn
    )
