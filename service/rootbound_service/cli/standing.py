"""How a field stands tonight, as the notes' own facts: one set of words for mail and terminal."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal, cast

from rootbound_service.notes.facts import DaysAhead, FieldFacts, Status
from rootbound_service.records import FieldRecord, RiskRecord

Kind = Literal["days", "free_would_not", "neither", "none"]
COMPUTED = ("watched", "unrated")


def facts_of(
    field: FieldRecord, risk: RiskRecord | None, *, today: date, stale_days: int
) -> FieldFacts | None:
    """Put a field and what the last night found together.

    Parameters
    ----------
    field
        With its season and digs.
    risk
        Its latest row; None before the first night.
    today
        The day it is.
    stale_days
        Weather older than this makes the field unknown, whatever the row says. [days]

    Returns
    -------
    FieldFacts or None
        None before the first night.
    """
    if risk is None:
        return None
    from rootbound_service.nights.facts_of import SOURCE

    through = risk.weather_through
    old = through is None or (today - through).days > stale_days
    if risk.status in COMPUTED and old:
        risk = replace(risk, status="unknown", rung=None)
    dig = field.digs[-1] if field.digs else None
    ahead = DaysAhead(
        cast("Kind", risk.days_ahead_kind),
        risk.days_ahead_median,
        risk.days_ahead_low,
        risk.days_ahead_high,
    )
    return FieldFacts(
        field_id=field.id,
        field_name=field.name,
        grower_name=field.grower.name,
        night=today,
        crop=field.crop,
        stage=risk.stage,
        planted=field.planted,
        gdd_f_total=risk.gdd_f_total,
        days_to_silk=None,
        status=cast("Status", risk.status),
        rung=risk.rung,
        previous_rung=None,
        free_rung=risk.free_rung,
        reason=risk.reason,
        wall_class=dig.wall_class if dig else None,
        dug_on=dig.dug_on if dig else None,
        plants_dug=dig.plants if dig else 0,
        reach=risk.reach,
        water_in_reach_mm=risk.water_in_reach_mm,
        free_water_mm=risk.free_water_mm,
        days_ahead=ahead,
        chance_7=risk.chance_7,
        chance_14=risk.chance_14,
        stress_past_7=risk.stress_past_7,
        stress_season=risk.stress_season,
        weather_source=SOURCE,
        weather_through=risk.weather_through,
        series=None,
    )
