"""Why there was no note for a field on a night: the rule that kept it silent, from stored rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from rootbound_rules.risk.ladder import Reason
from rootbound_rules.tables import load_table
from rootbound_service.nights.explain_step import Figure, Step
from rootbound_service.nights.explain_verdict import CHANCE_HEADS, RULES, chance_rows, rung_words
from rootbound_service.notes.en.reasons import SENTENCES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from rootbound_service.records import FieldRecord, NoteRecord, RiskRecord

ON_LADDER = {"watched", "unrated"}
TAKES_BACK = {Reason.RAIN_NOT_KNOWN, Reason.RISE_WAITS}
"""Reasons for which a rise by the thresholds is not shown."""


@dataclass(frozen=True, slots=True)
class Quiet:
    """Why a night was silent about a field."""

    rule: str
    """The rule's name, for programs."""
    text: str
    """In a sentence or two."""
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is known of the night that is asked about."""

    night: date
    today: date
    field: FieldRecord
    """With the season of that night."""
    history: Sequence[RiskRecord]
    """The season's rows, oldest first; a night without one was like the one before."""
    notes: Sequence[NoteRecord]
    """The season's notes, in any order."""
    was_run: bool
    """Whether the night was run to its end."""


def why_quiet(asked: Asked) -> Quiet:
    """Say why there was no note.

    Parameters
    ----------
    asked
        The night and what is stored of it.

    Returns
    -------
    Quiet
        The rule in a sentence, then the figures it looked at. Where there was a note after
        all its rule is ``note``.
    """
    night, name = asked.night, asked.field.name
    if night > asked.today:
        return Quiet("not_yet", f"The night of {night} has not come yet.")
    sent = [one for one in asked.notes if one.night == night]
    if sent:
        numbers = " and ".join(str(one.id) for one in sent)
        return Quiet("note", f"There was a note: rootbound explain {numbers}.")
    if night < asked.field.planted:
        planted = asked.field.planted
        return Quiet("not_planted", f"{name} was planted on {planted}, after that night.")
    if not asked.was_run:
        return Quiet(
            "never_run",
            f"The night of {night} was never run to its end: nobody looked at any field. "
            f"rootbound nightly --date {night} runs it now.",
        )
    rows = [row for row in asked.history if row.night <= night]
    if not rows:
        nights = [one.night for one in asked.history]
        first = f"its first night was {nights[0]}" if nights else "no night has seen it"
        return Quiet("enrolled_later", f"{name} was not watched yet: {first}.")
    last, before = rows[-1], _before(rows, night)
    rule, sentence = _rule(last, before, asked)
    return Quiet(rule, sentence, _steps(last, before, asked))


def _before(rows: Sequence[RiskRecord], night: date) -> RiskRecord | None:
    """What held on the night before."""
    earlier = [row for row in rows if row.night < night]
    return earlier[-1] if earlier else None


def _rule(row: RiskRecord, before: RiskRecord | None, asked: Asked) -> tuple[str, str]:
    """The rule that kept a field silent that had a row."""
    if row.status not in ON_LADDER:
        return row.reason, _off_ladder(row, before)
    said, rung = before.said_rung if before is not None else None, row.rung or 0
    if row.reason in TAKES_BACK and (row.raw_rung or 0) > rung:
        thresholds = f"That night's thresholds alone say {rung_words(row.raw_rung)}. "
        return row.reason, thresholds + RULES[row.reason]
    if said is None:
        if rung == 0:
            return "ample", "It stood at ample and nobody had been told anything: no news."
        return "nothing_said", f"It stood at {rung_words(rung)} and no rule asked for a note."
    return _against_said(row, rung, said, asked)


def _against_said(row: RiskRecord, rung: int, said: int, asked: Asked) -> tuple[str, str]:
    """The rule where people had been told a rung."""
    told = _told(said, asked)
    if rung == said:
        return "same_as_said", f"The rung did not rise above what was said: {told}."
    if rung > 0:
        lower = f"The rung, {rung_words(rung)}, is under what was said: {told}. "
        return "under_said", lower + "An easing is told only once the field is ample."
    wanted = int(load_table("ladder").number("eased.nights"))
    return "eased_not_long", (
        f"It was back at ample for {max(row.nights_under_said, 1)} night(s) after {told}. "
        f"That is told after {wanted} nights, since good news that does not last costs trust."
    )


def _off_ladder(row: RiskRecord, before: RiskRecord | None) -> str:
    """Why a field without a rung had no note."""
    known = SENTENCES.get(Reason(row.reason), "") if row.reason in set(Reason) else row.reason
    lead = known or row.reason.replace("_", " ")
    if row.status == "unknown" and before is not None and before.status == "unknown":
        return f"{lead} That was so on the night before as well, and is told once."
    if row.status == "unknown":
        return f"{lead} Nothing can be said of the field, which is not the same as fine."
    return f"{lead} A field has no rung then, and no note."


def _told(said: int, asked: Asked) -> str:
    """The rung last said, and when: ``2 tight, on 2026-07-05``."""
    nights = [one.night for one in asked.notes if one.to_rung == said and one.night < asked.night]
    return rung_words(said) + (f", on {max(nights)}" if nights else "")


def _steps(row: RiskRecord, before: RiskRecord | None, asked: Asked) -> tuple[Step, ...]:
    """The stored figures of the night and of the one before."""
    like = "" if row.night == asked.night else f", as stored on {row.night} and unchanged since"
    figures = [
        Figure("status", row.status),
        Figure("stage", row.stage),
        Figure("rung the night before", rung_words(before.rung if before else None)),
        Figure("rung people were last told", rung_words(before.said_rung if before else None)),
        Figure("rung by the thresholds alone", rung_words(row.raw_rung)),
        Figure("rung", rung_words(row.rung)),
        Figure("reason", row.reason),
        Figure("chance of stress, 7 d", row.chance_7),
        Figure("chance of stress, 14 d", row.chance_14),
        Figure("water in reach, held", row.water_in_reach_mm, "mm"),
        Figure("water in reach, free", row.free_water_mm, "mm"),
        Figure("weather known through", str(row.weather_through or "none")),
    ]
    if row.status == "unrated":
        figures.append(Figure("no dig yet", "the rung is that of free roots"))
    steps = [Step(f"The night of {asked.night}{like}", tuple(figures))]
    reading = _reading(row)
    if reading is not None:
        heads = CHANCE_HEADS
        table = type(heads)(heads.heads, heads.units, chance_rows(reading))
        steps.append(Step("Chances against the needed share", table=table))
    return tuple(steps)


def _reading(row: RiskRecord) -> Mapping[str, Any] | None:
    """The reading that decided, where the row has kept it."""
    name = "held" if row.status == "watched" else "free"
    kept = row.detail.get(name)
    reading = cast("Mapping[str, Any]", kept) if isinstance(kept, dict) else None
    return reading if reading is not None and "chance_14" in reading else None
