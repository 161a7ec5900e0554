"""From an outlook to what may be said tonight: readings of both twins, onset, water in reach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.risk.prospects import Prospects, prospects
from rootbound_rules.risk.rungs import Reading
from rootbound_rules.risk.stress import Ahead, coming, days_ahead, onset, past
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from rootbound_rules.season.outlook import Outlook


@dataclass(frozen=True, slots=True)
class Figures:
    """One field tonight; the reading decides, the rest explains."""

    held: Reading
    free: Reading
    stage: str
    emerged: bool
    mature: bool
    critical: bool
    gdd_f_total: float
    days_to_silk: int | None
    water_in_reach_mm: float
    free_water_mm: float
    ahead: Ahead
    stress_past_7: float
    """Of the held twin; medians. [d]"""
    free_stress_past_7: float
    stress_season: float
    reach: float
    members: int


@dataclass(frozen=True, slots=True)
class Assessment(Figures):
    """The same with the days to come, which only pages and letters tell of."""

    prospects: Prospects


def assess(outlook: Outlook, today: date) -> Assessment:
    """Read an outlook on a day.

    Parameters
    ----------
    outlook
        Both twins over all members.
    today
        The day of the night's run: yesterday and before are past, today and after are coming.

    Returns
    -------
    Assessment
        Medians and shares over the members.
    """
    rows, t = load_table("ladder"), outlook.day(today)
    stages, plan = outlook.plan.stages, outlook.plan
    gdd = float(np.median(outlook.gdd_f[max(t - 1, 0)]))
    silk = _days_to(outlook.gdd_f, stages.silk, t)
    mark = rows.number("onset_days")
    held, free = outlook.held_stress, outlook.free_stress
    yesterday = max(t - 1, 0)
    held_reading, free_reading = readings_on(
        outlook, today, min(yesterday, max(outlook.day(outlook.known_through), 0))
    )
    return Assessment(
        held=held_reading,
        free=free_reading,
        stage=stages.name(gdd),
        emerged=gdd >= stages.emergence,
        mature=gdd >= plan.maturity,
        critical=held_reading.critical,
        gdd_f_total=gdd,
        days_to_silk=silk,
        water_in_reach_mm=float(np.median(outlook.held_water[yesterday])),
        free_water_mm=float(np.median(outlook.free_water[yesterday])),
        ahead=days_ahead(onset(free, mark), onset(held, mark)),
        stress_past_7=float(np.median(past(held, t, 7))),
        free_stress_past_7=float(np.median(past(free, t, 7))),
        stress_season=float(np.median(past(held, t, t))),
        reach=float(np.median(outlook.reach[yesterday])),
        members=len(outlook.years),
        prospects=prospects(outlook, today),
    )


def readings_on(
    outlook: Outlook, day: date, water_day: int | None = None
) -> tuple[Reading, Reading]:
    """Read both twins as a night's run on a day would, if the outlook were all there is.

    Parameters
    ----------
    outlook
        Both twins over all members.
    day
        The day of the night's run; may lie ahead.
    water_day
        Position of the day whose water tells a dry field: for tonight the last known one, since
        rain that is only foreseen is in no soil yet; None for the day before ``day``.

    Returns
    -------
    tuple of Reading
        Of the held and of the free twin.
    """
    t, stage = outlook.day(day), stage_on(outlook, day)
    least = load_table("ladder").number("eased.water_mm")
    at = max(t - 1, 0) if water_day is None else water_day

    def reading(stress: NDArray[np.float32], water: NDArray[np.float32]) -> Reading:
        return replace(
            stage,
            chance_14=_share(coming(stress, t, _days("drawing_down")), "drawing_down"),
            chance_7=_share(coming(stress, t, _days("tight")), "tight"),
            chance_short=_share(past(stress, t, _days("short")), "short"),
            chance_failing=_share(past(stress, t, _days("failing")), "failing"),
            dry=float(np.median(water[min(at, len(water) - 1)])) < least,
        )

    held = reading(outlook.held_stress, outlook.held_water)
    return held, reading(outlook.free_stress, outlook.free_water)


def stage_on(outlook: Outlook, day: date) -> Reading:
    """Read how far the crop is on a day, without any chance.

    Parameters
    ----------
    outlook
        Both twins over all members.
    day
        The day of the night's run; may lie ahead.
    """
    t, stages = outlook.day(day), outlook.plan.stages
    gdd = float(np.median(outlook.gdd_f[max(t - 1, 0)]))
    return Reading(
        chance_14=0.0,
        chance_7=0.0,
        chance_short=0.0,
        chance_failing=0.0,
        collars=stages.collars(gdd),
        past_r4=gdd >= stages.r5,
        critical=critical_window(_days_to(outlook.gdd_f, stages.silk, t), gdd),
    )


def _days(rung: str) -> int:
    """Days a rung's threshold looks over."""
    return int(load_table("ladder").number(f"{rung}.days"))


def _share(sums: NDArray[np.float64], rung: str) -> float:
    """Share of members that reach a rung's stress."""
    return float((sums >= load_table("ladder").number(f"{rung}.stress")).mean())


def _days_to(gdd: NDArray[np.float64], target: float, today: int) -> int | None:
    """Median days from today to a sum of heat units; negative once it is past."""
    reached = gdd >= target
    first = np.where(reached.any(axis=0), reached.argmax(axis=0), -1)
    if (first < 0).mean() > 0.5:
        return None
    return round(float(np.median(first[first >= 0]))) - today


def critical_window(days_to_silk: int | None, gdd: float) -> bool:
    """Tell whether a day lies in the critical window around silking.

    Parameters
    ----------
    days_to_silk
        Negative once it is past; None where it does not come.
    gdd
        Heat units since planting; before planting nothing is critical. [degF d]
    """
    rows = load_table("ladder")
    if days_to_silk is None or gdd <= 0.0:
        return False
    before = rows.number("critical.days_before_silk")
    after = rows.number("critical.days_after_silk")
    return -after <= days_to_silk <= before
