"""The figures of one field's night as they are stored, and what they were decided by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.risk.cause import cause_of
from rootbound_rules.risk.ladder import Reading, raw_rung, threshold
from rootbound_rules.tables import load_table
from rootbound_service.records import RiskRecord

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Figures
    from rootbound_rules.risk.ladder import Decision, Reason
    from rootbound_service.nights.parts import Computed


@dataclass(frozen=True, slots=True)
class Kept:
    """What a row has beside its figures; see :class:`rootbound_service.records.RiskRecord`."""

    free_rung: int | None = None
    nights_below: int = 0
    said_rung: int | None = None
    nights_under_said: int = 0
    changed_on: date | None = None
    said_free: bool = False
    detail: Mapping[str, object] = field(default_factory=dict[str, object])


_READ = tuple(one.name for one in fields(Reading))


def row_of(
    computed: Computed,
    night: date,
    rung: int | None,
    raw: int | None,
    reason: str,
    memory: Kept = Kept(),
) -> RiskRecord:
    """Give the figures of a night, whatever the status.

    Parameters
    ----------
    computed
        The field.
    night
        The night.
    rung, raw
        After the ladder and by the thresholds alone; None where the field has none. [0-4]
    reason
        Named reason.
    memory
        What the ladder is to remember.
    """
    a = computed.figures
    watched = computed.status == "watched"
    told = a if a and (rung or not _too_young(a)) else None
    return RiskRecord(
        season_id=computed.field.season_id,
        night=night,
        status=computed.status,
        rung=rung,
        raw_rung=raw,
        free_rung=memory.free_rung,
        nights_below=memory.nights_below,
        said_rung=memory.said_rung,
        nights_under_said=memory.nights_under_said,
        reason=str(reason),
        stage=a.stage if a else "",
        gdd_f_total=a.gdd_f_total if a else 0.0,
        water_in_reach_mm=told.water_in_reach_mm if told else None,
        free_water_mm=told.free_water_mm if told else None,
        days_ahead_kind=a.ahead.kind if a and watched else "none",
        days_ahead_median=a.ahead.median if a and watched else None,
        days_ahead_low=a.ahead.low if a and watched else None,
        days_ahead_high=a.ahead.high if a and watched else None,
        chance_7=(a.held if watched else a.free).chance_7 if a else None,
        chance_14=(a.held if watched else a.free).chance_14 if a else None,
        stress_past_7=a.stress_past_7 if a else None,
        stress_season=a.stress_season if a else None,
        reach=a.reach if a else None,
        weather_through=computed.cell.known_through if computed.cell else None,
        changed_on=memory.changed_on,
        said_free=memory.said_free,
        detail=memory.detail,
    )


def detail_of(
    computed: Computed, decision: Decision, free: Decision, news: Reason | None
) -> dict[str, object]:
    """Tell what a rung was decided by, for whoever asks why there was a note or none.

    Parameters
    ----------
    computed
        A field on the ladder.
    decision, free
        Of the ladder that is shown and of the free twin.
    news
        Of the roots, if people are told any tonight.

    Returns
    -------
    dict
        What JSON holds: both readings with the share that each needed, what the thresholds
        alone said and why, what the ladder made of it, the cause, the news.
    """
    a = computed.figures
    if a is None:
        return {}
    return {
        "shown": "held" if computed.status == "watched" else "free",
        "held": _read(a.held),
        "free": _read(a.free) | {"rung": free.rung, "reason": str(free.reason)},
        "reason": str(decision.reason),
        "note": decision.note,
        "cause": str(cause_of(decision.rung, free.rung, a.stress_past_7, a.free_stress_past_7)),
        "news": str(news) if news is not None else None,
        "belief": computed.belief.told() if computed.belief else None,
    }


def _read(reading: Reading) -> dict[str, object]:
    """A reading with the share it needed and what the thresholds alone make of it."""
    raw, why = raw_rung(reading)
    found: dict[str, object] = {name: getattr(reading, name) for name in _READ}
    return found | {"needed": threshold(reading), "raw_rung": raw, "raw_reason": str(why)}


def _too_young(figures: Figures) -> bool:
    """Tell whether stress does not count yet: a seedling's own small store says nothing."""
    return figures.held.collars < load_table("ladder").number("stress_from_collar")
