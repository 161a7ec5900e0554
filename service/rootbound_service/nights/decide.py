"""Decide: tonight's rung, and whether anybody should hear of it. Pure functions of values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_rules.risk.ladder import Decision, Reason, held_back
from rootbound_rules.risk.ladder import decide as climb
from rootbound_rules.risk.standing import Standing, standing
from rootbound_service.nights.evidence import evidence_of
from rootbound_service.nights.news import RootNews, root_news
from rootbound_service.nights.observed import observed_of
from rootbound_service.nights.parts import Computed, Decided
from rootbound_service.nights.remembered import (
    MEMORY,
    NOTHING,
    Remembered,
    kept_off_ladder,
    kept_on_ladder,
    remembered,
)
from rootbound_service.nights.rows import Kept, detail_of, row_of
from rootbound_service.records import NoteRecord, RiskRecord

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Figures


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
        The row to store, and the note if the rung rose, fell back to ample after a note, the
        roots grew free or are held after all, or the field's weather became too old or too
        patchy to say anything. One note a night: a change of rung goes first and carries the news.
    """
    found = weigh(computed, before, night)
    note = _note(found, before) if found.told else None
    return Decided(found.computed, found.risk, note, before.said_rung if before else None)


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """One field's row tonight, and whether anybody is to hear of it."""

    computed: Computed
    risk: RiskRecord
    told: bool
    decision: Decision | None = None
    """None off the ladder."""
    roots: RootNews | None = None


def weigh(
    computed: Computed, before: RiskRecord | None, night: date, *, slim: bool = False
) -> Weighed:
    """Find one field's row, without the evidence that a note is kept with.

    Parameters
    ----------
    computed, before, night
        As for :func:`decide`.
    slim
        Keep of an ample field only what tonight does not follow from.
    """
    stands = standing_of(computed, night)
    if stands.status != computed.status:
        computed = replace(computed, status=stands.status, failure=None)
    if stands.on_ladder:
        return _on_ladder(computed, before, night, slim=slim)
    return _off_ladder(computed, stands, before, night)


def standing_of(computed: Computed, night: date) -> Standing:
    """Tell where a computed field stands, and why.

    Parameters
    ----------
    computed
        The field.
    night
        The night.
    """
    status = computed.status
    return standing(
        night,
        missing=Reason(computed.unknown_because) if status == "unknown" else None,
        rated=status == "watched",
        emerged=status != "waiting",
        mature=status == "finished",
        harvested_on=observed_of(computed.field.observations, night).harvested,
    )


def both_twins(computed: Computed, last: Remembered, night: date) -> tuple[Decision, Decision]:
    """Let both twins climb by the same rules, each from its own rung of the night before.

    Parameters
    ----------
    computed
        A field on the ladder.
    last
        What was remembered.
    night
        The night.

    Returns
    -------
    tuple of Decision
        The one that is shown and told, and the free twin's, of which only the rung counts.
    """
    a = _figures(computed)
    shown = climb(a.held if computed.status == "watched" else a.free, last.held, night)
    free = climb(a.free, last.free, night)
    if computed.cell is not None and computed.cell.patched.rain_assumed:
        return held_back(shown, last.held), held_back(free, last.free)
    return shown, free


def _on_ladder(
    computed: Computed, before: RiskRecord | None, night: date, *, slim: bool
) -> Weighed:
    """A field that has emerged and has weather."""
    last = remembered(before)
    decision, free = both_twins(computed, last, night)
    roots = root_news(computed, last, night, decision.rung, free.rung)
    alone = roots.news if roots.news is not None and not decision.note else None
    kept = kept_on_ladder(free, took_back=roots.took_back)
    if slim and decision.rung == decision.raw_rung == free.rung == 0:
        detail: dict[str, object] = {} if kept == NOTHING else {MEMORY: kept}
    else:
        detail = detail_of(computed, decision, free, roots.news) | {MEMORY: kept}
    memory = Kept(
        free.rung,
        decision.nights_below,
        decision.said_rung,
        decision.nights_under_said,
        decision.changed_on,
        roots.said_free,
        detail,
    )
    reason = alone or decision.reason
    row = row_of(computed, night, decision.rung, decision.raw_rung, reason, memory)
    return Weighed(computed, row, decision.note or roots.news is not None, decision, roots)


def _off_ladder(
    computed: Computed, stands: Standing, before: RiskRecord | None, night: date
) -> Weighed:
    """A field that is not up yet, is over, or of which nothing can be said tonight."""
    said = before.said_rung if before else None
    over = before is not None and before.status == "finished"
    if before is not None and over and computed.figures is None and _still_over(before, stands):
        # over is over: neither old weather nor the end of the outlook takes it back
        ended = replace(computed, status="finished", failure=None)
        return Weighed(ended, replace(before, night=night), told=False)
    last = remembered(before)
    row = row_of(computed, night, None, None, stands.reason or Reason.NOT_COMPUTED)
    if stands.status == "finished" and before is not None and computed.figures is None:
        # nothing was computed any more: it ended where it last stood
        row = replace(row, stage=before.stage, gdd_f_total=before.gdd_f_total)
    row = replace(
        row,
        said_rung=said,
        changed_on=before.changed_on if before else None,
        said_free=last.said_free,
        detail={"standing": stands.words, MEMORY: kept_off_ladder(last)},
    )
    return Weighed(computed, row, _lost_sight(row, before))


def _still_over(before: RiskRecord, stands: Standing) -> bool:
    """Tell whether a season that was over still is: only a harvest can be taken back."""
    return before.reason != Reason.HARVESTED or stands.reason is Reason.HARVESTED


def _lost_sight(row: RiskRecord, before: RiskRecord | None) -> bool:
    """Tell whether tonight is the first night without weather for a field seen until now."""
    seen = before is not None and before.status in {"watched", "unrated", "waiting"}
    return seen and row.reason in {Reason.WEATHER_TOO_OLD, Reason.WEATHER_PATCHY}


def _figures(computed: Computed) -> Figures:
    """What the outlook said; a field on the ladder has one."""
    if computed.figures is None:
        raise ValueError(f"{computed.field.name} is {computed.status} without an assessment")
    return computed.figures


def _note(found: Weighed, before: RiskRecord | None) -> NoteRecord:
    """The note of one change, with everything needed to compute it again."""
    row, decision, roots = found.risk, found.decision, found.roots
    said = before.said_rung if before else None
    # without the reason: a night run again may find another one for a rung already told
    words = f"{row.season_id}|{row.night}|{said}|{row.rung}"
    if roots is not None and roots.news is not None:
        alone = decision is None or not decision.note
        # the news alone is told once a season, on whatever night
        words = f"{row.season_id}|{roots.news}" if alone else f"{words}|{roots.news}"
    return NoteRecord(
        season_id=row.season_id,
        night=row.night,
        from_rung=said,
        to_rung=row.rung,
        reason=row.reason,
        evidence=evidence_of(found.computed, row, decision, before),
        dedupe_key=sha256(words.encode()).hexdigest()[:32],
    )
