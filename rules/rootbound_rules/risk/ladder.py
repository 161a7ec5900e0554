"""The ladder: from last night's rung and tonight's reading to tonight's rung, and to a note.

Pure functions of values. Every decision carries a named reason. Both twins climb by the
same rules, each with a memory of its own: a free rung without hysteresis beside a held rung
with it would differ on nights on which the roots make no difference at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from rootbound_rules.risk.rungs import (
    RUNG_NAMES,
    SHORT,
    Reading,
    Reason,
    raw_rung,
    threshold,
    wetted,
)
from rootbound_rules.tables import load_table

__all__ = [
    "RUNG_NAMES", "Decision", "Memory", "Reading", "Reason", "decide", "held_back", "is_jump",
    "raw_rung", "threshold",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Memory:
    """What the ladder remembers of one twin from the night before."""

    rung: int
    nights_below: int = 0
    said_rung: int | None = None
    """Rung people were last told, None before the first note."""
    nights_under_said: int = 0
    """Successive nights at this rung, where it is under what was said."""
    changed_on: date | None = None
    """Night of the last change of rung, None before the first."""


@dataclass(frozen=True, slots=True)
class Decision:
    """Tonight's rung with its reason, and whether to tell anybody."""

    rung: int
    raw_rung: int
    nights_below: int
    reason: Reason
    note: bool
    said_rung: int | None
    nights_under_said: int
    changed_on: date | None = None


def is_jump(before: int, after: int) -> bool:
    """Tell whether a change is a real jump, which the settle rule lets through.

    A jump is a rise to short or failing, or a fall from there by two rungs or more. Both rest
    on what the past days did to the crop in most members, so that tomorrow's forecast cannot
    take them back. Ample, drawing down and tight rest on what may come; a storm that enters
    the forecast and leaves it again moves them by any number of rungs, and that is the flicker
    the rule is for.

    Parameters
    ----------
    before, after
        Rungs. [0-4]
    """
    fall = load_table("ladder").number("jump.fall_rungs")
    return before < after >= SHORT or (before >= SHORT and before - after >= fall)


def decide(reading: Reading, memory: Memory | None, night: date) -> Decision:
    """Tonight's rung: it rises at once and falls late, and rests after each change.

    A rung falls after a week of nights below it, or after a wetting that brings the chance
    behind it under half its threshold. Within three nights of a change only a jump changes it
    again; a rise that waits comes on the first night after that on which it still stands.

    A note goes out when the rung is above what people were last told, or when a field they
    were told of has been ample for three nights and has water in reach again: hope that lies
    in the forecast alone is no good news yet. What they were told is forgotten after a week
    at a lower rung: a quick return to a rung they know of is no news, a later one is.

    Parameters
    ----------
    reading
        What the outlook says of one twin.
    memory
        The night before, None for a first night.
    night
        Tonight.
    """
    raw, reason = raw_rung(reading)
    before = memory or Memory(rung=0)
    free_to_move = _settled(before, night) or is_jump(before.rung, raw)
    if raw >= before.rung:
        if raw > before.rung and not free_to_move:
            return _with_note(reading, before.rung, raw, 0, Reason.RISE_WAITS, before, night)
        return _with_note(reading, raw, raw, 0, reason, before, night)
    nights = before.nights_below + 1
    enough = nights >= load_table("ladder").number("fall.nights")
    if not enough and not wetted(reading, before.rung):
        return _with_note(
            reading, before.rung, raw, nights, Reason.HELD_BY_HYSTERESIS, before, night
        )
    if not free_to_move:
        return _with_note(reading, before.rung, raw, nights, Reason.FALL_WAITS, before, night)
    fell = Reason.FELL_AFTER_NIGHTS if enough else Reason.FELL_AFTER_WETTING
    return _with_note(reading, raw, raw, 0, fell, before, night)


def held_back(decision: Decision, memory: Memory | None) -> Decision:
    """Take back a rise that rests on days whose rain nobody measured: rain may have fallen.

    Parameters
    ----------
    decision
        Tonight's, with those days taken for dry.
    memory
        The night before, None for a first night.

    Returns
    -------
    Decision
        The rung of the night before and no note; one that did not rise as it was.
    """
    before = memory or Memory(rung=0)
    if decision.rung <= before.rung:
        return decision
    return replace(
        decision,
        rung=before.rung,
        nights_below=0,
        reason=Reason.RAIN_NOT_KNOWN,
        note=False,
        said_rung=before.said_rung,
        nights_under_said=0,  # as while a rise waits: no night of good news
        changed_on=before.changed_on,
    )


def _settled(before: Memory, night: date) -> bool:
    """Tell whether the last change is long enough ago for another one."""
    if before.changed_on is None:
        return True
    return (night - before.changed_on).days >= load_table("ladder").number("settle.nights")


def _with_note(
    reading: Reading,
    rung: int,
    raw: int,
    nights: int,
    reason: Reason,
    before: Memory,
    night: date,
) -> Decision:
    """Add to a rung whether it is worth a note, against what was last said."""
    rows, said = load_table("ladder"), before.said_rung or 0
    stays = rung == before.rung and before.nights_under_said > 0
    under = (before.nights_under_said + 1 if stays else 1) if rung < said else 0
    if reason is Reason.RISE_WAITS:
        under = 0  # a night that looks worse than its rung is no better night
    eased = rung == 0 and under >= rows.number("eased.nights") and not reading.dry
    forgotten = under >= rows.number("forget.nights")
    note = rung > said or eased
    return Decision(
        rung=rung,
        raw_rung=raw,
        nights_below=nights,
        reason=reason,
        note=note,
        said_rung=rung if note or forgotten else before.said_rung,
        nights_under_said=0 if note or forgotten else under,
        changed_on=before.changed_on if rung == before.rung else night,
    )
