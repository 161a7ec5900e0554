"""From a decided field to the facts that notes and digests word."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.cause import Cause
from rootbound_service.nights.ahead_facts import with_ahead
from rootbound_service.notes.facts import DaysAhead, FieldFacts, SeasonSeries

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import RiskRecord

SOURCE = "Public weather grids"
DAYS_SHOWN = 28
"""Days of the outlook in the pictures."""


def facts_of(decided: Decided, previous_rung: int | None) -> FieldFacts:
    """Return what may be said of one field tonight.

    Parameters
    ----------
    decided
        The field's night.
    previous_rung
        Rung to compare with: that of the last note, or of a week ago.
    """
    computed, row, a = decided.computed, decided.risk, decided.computed.assessment
    field = computed.field
    digs = [dig for dig in field.digs if dig.dug_on <= row.night]
    last = digs[-1] if digs else None
    silk = a.days_to_silk if a else None
    facts = FieldFacts(
        field_id=field.id,
        field_name=field.name,
        grower_name=field.grower.name,
        night=row.night,
        crop=field.crop,
        stage=row.stage,
        planted=field.planted,
        gdd_f_total=row.gdd_f_total,
        days_to_silk=silk if silk is not None and silk > 0 else None,
        status=computed.status,
        rung=row.rung,
        previous_rung=previous_rung,
        free_rung=row.free_rung,
        reason=row.reason,
        wall_class=last.wall_class if last else None,
        dug_on=last.dug_on if last else None,
        plants_dug=last.plants if last else 0,
        reach=row.reach,
        water_in_reach_mm=row.water_in_reach_mm,
        free_water_mm=row.free_water_mm,
        days_ahead=DaysAhead(
            a.ahead.kind if a and computed.status == "watched" else "none",
            row.days_ahead_median,
            row.days_ahead_low,
            row.days_ahead_high,
        ),
        chance_7=row.chance_7,
        chance_14=row.chance_14,
        stress_past_7=row.stress_past_7,
        stress_season=row.stress_season,
        weather_source=computed.cell.days.names if computed.cell else SOURCE,
        weather_through=row.weather_through,
        series=series_of(computed.outlook, row.night) if computed.outlook else None,
        critical_window=bool(a and a.critical),
        pan_class=last.pan_class if last else 0,
        pan_depth_cm=last.pan_depth_cm if last and last.pan_class else None,
        news=str(row.detail.get("news") or ""),
        cause=_cause(row),
    )
    return with_ahead(facts, decided)


def _cause(row: RiskRecord) -> Cause | None:
    """What stands behind the rung, as it was decided."""
    found = row.detail.get("cause")
    return Cause(found) if isinstance(found, str) else None


def series_of(outlook: Outlook, night: date) -> SeasonSeries | None:
    """Return the season in one picture: medians so far, the middle 80 % of the days to come.

    Parameters
    ----------
    outlook
        Both twins over all members.
    night
        The night; days after the last real weather are outlook.

    Returns
    -------
    SeasonSeries or None
        None while no day since planting is known: there is nothing to draw yet.
    """
    plant, last = outlook.plan.plant_day, outlook.day(outlook.known_through)
    if last < plant:
        return None
    end = min(outlook.day(night) + DAYS_SHOWN, len(outlook.held_water) - 1)
    past, ahead = slice(plant, last + 1), slice(last + 1, end + 1)
    low, mid, high = np.quantile(outlook.held_water[ahead], [0.1, 0.5, 0.9], axis=1)
    return SeasonSeries(
        dates=_dates(outlook, past),
        rain_mm=outlook.rain_mm[past, 0],
        held_water_mm=np.median(outlook.held_water[past], axis=1).astype(np.float64),
        free_water_mm=np.median(outlook.free_water[past], axis=1).astype(np.float64),
        ahead=_dates(outlook, ahead),
        held_low_mm=low,
        held_mid_mm=mid,
        held_high_mm=high,
        free_mid_mm=np.median(outlook.free_water[ahead], axis=1).astype(np.float64),
        reach=np.median(outlook.reach[past], axis=1).astype(np.float64),
        reach_ahead=np.median(outlook.reach[ahead], axis=1).astype(np.float64),
    )


def _dates(outlook: Outlook, part: slice) -> tuple[date, ...]:
    """Dates of a part of the season."""
    return tuple(outlook.plan.first + timedelta(days=i) for i in range(part.start, part.stop))
