"""From a row of the compiled night to what may be said of a field, as ``risk.assess`` says it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.assess import Figures, critical_window
from rootbound_rules.risk.growing_free import looks_free
from rootbound_rules.risk.rungs import Reading
from rootbound_rules.risk.stress import Ahead
from rootbound_rules.risk.windows import CHANCES, windows
from rootbound_rules.season.night_rows import Told
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from rootbound_rules.season.plan import Plan


def asked_of(members: int) -> tuple[NDArray[np.int64], NDArray[np.float64], float, float, int]:
    """Give what ``season.night.night`` is asked about.

    Parameters
    ----------
    members
        Of the outlooks.
    """
    rows = load_table("ladder")
    return (*windows(), rows.number("onset_days"), rows.number("grown_free.reach"), members)


def figures_of(told: Sequence[float], plan: Plan, today: int, members: int) -> Figures:
    """Read a row of a night.

    Parameters
    ----------
    told
        Columns of ``season.night_rows.Told``.
    plan
        Of the field.
    today
        Day of the night's run, counted from the first simulated one.
    members
        Of the outlook.
    """
    stages, heat = plan.stages, told[Told.HEAT]
    silk = None if np.isnan(told[Told.SILK]) else round(told[Told.SILK]) - today
    critical = critical_window(silk, heat)
    collars, past_r4 = stages.collars(heat), heat >= stages.r5
    least = load_table("ladder").number("eased.water_mm")

    def reading(first: int, water: int) -> Reading:
        chances = dict(zip(CHANCES, told[first : first + len(CHANCES)], strict=True))
        dry = told[water] < least
        return Reading(**chances, collars=collars, past_r4=past_r4, critical=critical, dry=dry)

    return Figures(
        held=reading(Told.HELD_14, Told.HELD_KNOWN),
        free=reading(Told.FREE_14, Told.FREE_KNOWN),
        stage=stages.name(heat),
        emerged=heat >= stages.emergence,
        mature=heat >= plan.maturity,
        critical=critical,
        gdd_f_total=heat,
        days_to_silk=silk,
        water_in_reach_mm=told[Told.HELD_WATER],
        free_water_mm=told[Told.FREE_WATER],
        ahead=_ahead(*told[Told.AHEAD_LOW : Told.AHEAD_HIGH + 1]),
        stress_past_7=told[Told.HELD_PAST],
        free_stress_past_7=told[Told.FREE_PAST],
        stress_season=told[Told.HELD_SEASON],
        reach=told[Told.REACH],
        members=members,
    )


def may_have_grown_free(told: Sequence[float], plan: Plan) -> bool:
    """Tell whether ``risk.growing_free`` is worth asking about a field.

    Parameters
    ----------
    told, plan
        As for :func:`figures_of`.
    """
    heat, whole, least = told[Told.HEAT], told[Told.REACH_WHOLE], told[Told.REACH_LEAST]
    return looks_free(plan, heat, whole, least)


def _ahead(low: float, middle: float, high: float) -> Ahead:
    """Days ahead of a row: no number at all where under half of the held members run short."""
    if np.isnan(low):
        return Ahead("neither")
    known = None if np.isinf(low) else low
    if np.isinf(middle):
        return Ahead("free_would_not", low=known)
    return Ahead("days", middle, low, None if np.isinf(high) else high)
