"""Decide: tonight's rung, and whether anybody should hear of it. Pure functions of values."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_rules.risk.ladder import Decision, Memory, Reason, held_back, raw_rung
from rootbound_rules.risk.ladder import decide as climb
from rootbound_rules.tables import load_table
from rootbound_service.nights.evidence import evidence_of
from rootbound_service.nights.parts import Computed, Decided
from rootbound_service.records import NoteRecord, RiskRecord

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Assessment
    from rootbound_service.notes.facts import Status


def decide(computed: Computed, before: RiskRecord | None, night: date) -> Decided:
    """Decide one field's night.

    Parameters
    ----------
    computed
        Where the field stands.
    before
        Its row of the night before, None on its first night.
    night
        The night.

    Returns
    -------
    Decided
        The row to store, and the note if the rung rose, fell back to ample after a note, or
        the field's weather became too old to say anything.
    """
    if computed.status in ("watched", "unrated"):
        return _on_ladder(computed, before, night)
    return _off_ladder(computed, before, night)


def _on_ladder(computed: Computed, before: RiskRecord | None, night: date) -> Decided:
    """A field that has emerged and has weather."""
    assessment = computed.assessment
    assert assessment is not None  # noqa: S101  (both statuses carry one)
    reading = assessment.held if computed.status == "watched" else assessment.free
    decision = climb(reading, _memory(before))
    if computed.cell is not None and computed.cell.patched.rain_assumed:
        decision = held_back(decision, _memory(before))
    free, _ = raw_rung(assessment.free)
    row = _row(computed, night, decision.rung, decision.raw_rung, decision.reason)
    row = replace(
        row,
        free_rung=free,
        nights_below=decision.nights_below,
        said_rung=decision.said_rung,
        nights_under_said=decision.nights_under_said,
    )
    note = _note(computed, row, decision, before) if decision.note else None
    return Decided(computed, row, note, before.said_rung if before else None)


def _off_ladder(computed: Computed, before: RiskRecord | None, night: date) -> Decided:
    """A field that is not up yet, is mature, or of which nothing can be said tonight."""
    said = before.said_rung if before else None
    if before is not None and before.status == "finished" and computed.assessment is None:
        # over is over: neither old weather nor the end of the outlook takes it back
        over = replace(computed, status="finished", failure=None)
        return Decided(over, replace(before, night=night), None, said)
    reasons: dict[Status, str] = {
        "waiting": Reason.NOT_EMERGED,
        "finished": Reason.BLACK_LAYER,
        "unknown": computed.unknown_because,
    }
    row = _row(computed, night, None, None, reasons[computed.status])
    row = replace(row, said_rung=said)
    note = _note(computed, row, None, before) if _lost_sight(row, before) else None
    return Decided(computed, row, note, said)


def _lost_sight(row: RiskRecord, before: RiskRecord | None) -> bool:
    """Tell whether tonight is the first night without weather for a field seen until now."""
    seen = before is not None and before.status in {"watched", "unrated", "waiting"}
    return seen and row.reason == Reason.WEATHER_TOO_OLD


def _memory(before: RiskRecord | None) -> Memory | None:
    """What the ladder remembers; after a night without a rung, the last one that was said."""
    if before is None:
        return None
    rung = before.rung if before.rung is not None else before.said_rung
    return Memory(rung or 0, before.nights_below, before.said_rung, before.nights_under_said)


def _row(
    computed: Computed, night: date, rung: int | None, raw: int | None, reason: str
) -> RiskRecord:
    """Figures of the night, whatever the status."""
    a, outlook = computed.assessment, computed.outlook
    watched = computed.status == "watched"
    told = a if a and (rung or not _too_young(a)) else None
    return RiskRecord(
        season_id=computed.field.season_id,
        night=night,
        status=computed.status,
        rung=rung,
        raw_rung=raw,
        free_rung=None,
        nights_below=0,
        said_rung=None,
        nights_under_said=0,
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
        reach=a.reach if a and outlook else None,
        weather_through=computed.cell.known_through if computed.cell else None,
    )


def _too_young(assessment: Assessment) -> bool:
    """Tell whether stress does not count yet: a seedling's own small store says nothing."""
    return assessment.held.collars < load_table("ladder").number("stress_from_collar")


def _note(
    computed: Computed, row: RiskRecord, decision: Decision | None, before: RiskRecord | None
) -> NoteRecord:
    """The note of one change, with everything needed to compute it again."""
    said = before.said_rung if before else None
    # without the reason: a night run again may find another one for a rung already told
    words = f"{row.season_id}|{row.night}|{said}|{row.rung}"
    return NoteRecord(
        season_id=row.season_id,
        night=row.night,
        from_rung=said,
        to_rung=row.rung,
        reason=row.reason,
        evidence=evidence_of(computed, row, decision, before),
        dedupe_key=sha256(words.encode()).hexdigest()[:32],
    )
