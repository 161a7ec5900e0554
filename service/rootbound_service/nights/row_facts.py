"""The facts of a stored row: what may be said of a field without computing anything again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, Literal, cast

from rootbound_rules.risk.cause import Cause
from rootbound_rules.risk.exposure import exposure
from rootbound_rules.risk.more_plants import MorePlants
from rootbound_service.nights.holding import hold_from
from rootbound_service.nights.observed import observed_of
from rootbound_service.nights.shown import AHEAD
from rootbound_service.notes.facts import DaysAhead, FieldFacts, Forecasted, Reach, Spell

if TYPE_CHECKING:
    from rootbound_rules.risk.exposure import Exposure, Stress
    from rootbound_rules.risk.rain_to_hold import ToHold
    from rootbound_service.notes.facts import Status
    from rootbound_service.records import DigRecord, FieldRecord, RiskRecord

Kind = Literal["days", "free_would_not", "neither", "none"]
SOURCE = "Public weather grids"
Told = Mapping[str, Any]


def facts_of_row(
    field: FieldRecord, row: RiskRecord, previous_rung: int | None = None
) -> FieldFacts:
    """Return what a row and the field's record say; nothing of the days to come.

    Parameters
    ----------
    field
        With its season, digs and observations.
    row
        Of a night.
    previous_rung
        Rung to compare with.
    """
    digs = [dig for dig in field.digs if dig.dug_on <= row.night]
    last = digs[-1] if digs else None
    seen = observed_of(field.observations, row.night)
    cause, belief = row.detail.get("cause"), row.detail.get("belief")
    return FieldFacts(
        field_id=field.id,
        field_name=field.name,
        grower_name=field.grower.name,
        night=row.night,
        crop=field.crop,
        stage=row.stage,
        planted=field.planted,
        gdd_f_total=row.gdd_f_total,
        days_to_silk=None,
        status=cast("Status", row.status),
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
            cast("Kind", row.days_ahead_kind),
            row.days_ahead_median,
            row.days_ahead_low,
            row.days_ahead_high,
        ),
        chance_7=row.chance_7,
        chance_14=row.chance_14,
        stress_past_7=row.stress_past_7,
        stress_season=row.stress_season,
        weather_source=SOURCE,
        weather_through=row.weather_through,
        series=None,
        pan_class=last.pan_class if last else 0,
        pan_depth_cm=last.pan_depth_cm if last and last.pan_class else None,
        news=str(row.detail.get("news") or ""),
        cause=Cause(cause) if isinstance(cause, str) else None,
        belief=cast("Told", belief) if isinstance(belief, Mapping) else None,
        gauge_days=len(seen.rain_mm),
        watered_days=len(seen.irrigation_mm),
    )


def card_facts(
    field: FieldRecord, row: RiskRecord, earlier: Sequence[RiskRecord] = ()
) -> FieldFacts:
    """Return the facts of a row with what it keeps of the days to come.

    Parameters
    ----------
    field
        With its season, digs and observations.
    row
        Of a night.
    earlier
        Rows of earlier nights, oldest first: what more plants would do is worked out only
        for notes, and holds until somebody digs again.
    """
    facts, shown = facts_of_row(field, row), _shown(row)
    if not shown:  # of an earlier version, or without an outlook
        return facts
    digs = [dig for dig in field.digs if dig.dug_on <= row.night]
    silk = shown.get("days_to_silk")
    return replace(
        facts,
        days_to_silk=silk if silk is not None and silk > 0 else None,
        critical_window=bool(shown.get("critical")),
        held_short=_spell(shown.get("short")),
        free_short=_spell(shown.get("free_short")),
        chance_short=shown.get("chance_short"),
        rung_chances=tuple(shown.get("rungs") or ()),
        rain_to_hold=hold_of(row),
        reach_later=_reach(shown.get("reach_later")),
        forecast=_forecast(shown.get("forecast")),
        weather_source=shown.get("weather") or facts.weather_source,
        exposure=_exposure(shown.get("stress_by_stage"), facts.crop),
        more_plants=_more((*earlier, row), digs[-1]) if digs else None,
    )


def hold_of(row: RiskRecord) -> ToHold | None:
    """The rain that would hold a field; None where the row does not say."""
    return hold_from(_shown(row).get("hold"))


def members_of(row: RiskRecord) -> int:
    """Past summers in a row's outlook; 0 where the row does not say."""
    return int(_shown(row).get("members") or 0)


def _shown(row: RiskRecord) -> Told:
    """What a row keeps for its field's card."""
    kept = row.detail.get(AHEAD)
    return cast("Told", kept) if isinstance(kept, Mapping) else {}


def _spell(told: Told | None) -> Spell | None:
    if told is None:
        return None
    last = told["last"]
    return Spell(
        date.fromisoformat(told["middle"]),
        date.fromisoformat(told["first"]),
        date.fromisoformat(last) if last else None,
    )


def _reach(told: Told | None) -> Reach | None:
    return Reach(date.fromisoformat(told["day"]), *told["range"]) if told else None


def _forecast(told: Told | None) -> Forecasted | None:
    if told is None:
        return None
    issued, through = (date.fromisoformat(told[name]) for name in ("issued", "through"))
    return Forecasted(told["title"], issued, through)


def _exposure(told: Sequence[Sequence[Any]] | None, crop: str) -> Exposure | None:
    """Published losses for the stress days that have been, worked out by tonight's table."""
    if told is None:
        return None
    stages: list[tuple[str, Stress]] = [(stage, days) for stage, days in told]
    return exposure(stages, crop)


def _more(rows: Sequence[RiskRecord], dig: DigRecord) -> MorePlants | None:
    """What the latest note that knew of the dig found."""
    known = dig.recorded_at.date() if dig.recorded_at else dig.dug_on
    since = (row for row in reversed(rows) if row.night >= max(known, dig.dug_on))
    found = (_shown(row).get("more_plants") for row in since)
    return next((MorePlants(**told) for told in found if told), None)
