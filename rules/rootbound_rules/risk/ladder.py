"""The ladder: from what the outlook says to a rung, and from last night's rung to tonight's.

Pure functions of values. Every decision carries a named reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rootbound_rules.tables import load_table

RUNG_NAMES = ("ample", "drawing down", "tight", "short", "failing")


class Reason(StrEnum):
    """Why a rung is what it is tonight."""

    AMPLE = "ample"
    STRESS_LIKELY_14_DAYS = "stress_likely_14_days"
    STRESS_LIKELY_7_DAYS = "stress_likely_7_days"
    SHORT_PAST_3_DAYS = "short_past_3_days"
    FAILING_PAST_7_DAYS = "failing_past_7_days"
    HELD_BY_HYSTERESIS = "held_by_hysteresis"
    FELL_AFTER_NIGHTS = "fell_after_nights"
    FELL_AFTER_WETTING = "fell_after_wetting"
    BLACK_LAYER = "black_layer"
    NOT_EMERGED = "not_emerged"
    WEATHER_TOO_OLD = "weather_too_old"
    NO_OUTLOOK = "no_outlook"
    RAIN_NOT_KNOWN = "rain_not_known"


@dataclass(frozen=True, slots=True)
class Reading:
    """What the outlook says of one twin tonight; chances are shares of members. [0-1]"""

    chance_14: float
    chance_7: float
    chance_short: float
    """Members whose past days make the rung ``short``."""
    chance_failing: float
    collars: float
    """Collars that show today. [-]"""
    past_r4: bool
    """Dent has begun: ``failing`` no longer applies."""
    critical: bool
    """Within the critical window around silking."""


@dataclass(frozen=True, slots=True)
class Memory:
    """What the ladder remembers of one field from the night before."""

    rung: int
    nights_below: int = 0
    said_rung: int | None = None
    """Rung people were last told, None before the first note."""
    nights_under_said: int = 0
    """Successive nights at this rung, where it is under what was said."""


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


def threshold(reading: Reading) -> float:
    """Share of members that must agree, lower in the critical window. [0-1]"""
    return load_table("ladder").number("chance_critical" if reading.critical else "chance")


def raw_rung(reading: Reading) -> tuple[int, Reason]:
    """Rung by tonight's thresholds alone.

    Parameters
    ----------
    reading
        What the outlook says of one twin.
    """
    rows, needed = load_table("ladder"), threshold(reading)
    failing_stage = reading.collars >= rows.number("failing.from_collar") and not reading.past_r4
    if failing_stage and reading.chance_failing >= rows.number("chance"):
        return 4, Reason.FAILING_PAST_7_DAYS
    grown = reading.collars >= rows.number("short.from_collar")
    if grown and reading.chance_short >= rows.number("chance"):
        return 3, Reason.SHORT_PAST_3_DAYS
    if reading.chance_7 >= needed:
        return 2, Reason.STRESS_LIKELY_7_DAYS
    if reading.chance_14 >= needed:
        return 1, Reason.STRESS_LIKELY_14_DAYS
    return 0, Reason.AMPLE


def decide(reading: Reading, memory: Memory | None) -> Decision:
    """Tonight's rung: it rises at once and falls late, so that it does not flicker.

    A rung falls after three nights below it, or after a wetting that brings the chance
    behind it under half its threshold. A note goes out when the rung is above what people
    were last told, or when a field they were told of has been ample for three nights. What
    they were told is forgotten after a week at a lower rung: a quick return to a rung they
    know of is no news, a later one is.

    Parameters
    ----------
    reading
        What the outlook says of the held twin.
    memory
        The night before, None for a first night.
    """
    raw, reason = raw_rung(reading)
    before = memory or Memory(rung=0)
    if raw >= before.rung:
        return _with_note(raw, raw, 0, reason, before)
    rows = load_table("ladder")
    nights = before.nights_below + 1
    if nights >= rows.number("fall.nights"):
        return _with_note(raw, raw, 0, Reason.FELL_AFTER_NIGHTS, before)
    if _wetted(reading, before.rung):
        return _with_note(raw, raw, 0, Reason.FELL_AFTER_WETTING, before)
    return _with_note(before.rung, raw, nights, Reason.HELD_BY_HYSTERESIS, before)


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
    return Decision(
        before.rung,
        decision.raw_rung,
        0,
        Reason.RAIN_NOT_KNOWN,
        note=False,
        said_rung=before.said_rung,
        nights_under_said=before.nights_under_said,
    )


def _wetted(reading: Reading, rung: int) -> bool:
    """Tell whether the chance behind a rung is under half of what it takes."""
    share = load_table("ladder").number("fall.wetting_share")
    behind = {
        1: reading.chance_14,
        2: reading.chance_7,
        3: max(reading.chance_short, reading.chance_7),
        4: max(reading.chance_failing, reading.chance_7),
    }
    return behind[rung] < share * threshold(reading)


def _with_note(rung: int, raw: int, nights: int, reason: Reason, before: Memory) -> Decision:
    """Add to a rung whether it is worth a note, against what was last said."""
    rows, said = load_table("ladder"), before.said_rung or 0
    stays = rung == before.rung and before.nights_under_said > 0
    under = (before.nights_under_said + 1 if stays else 1) if rung < said else 0
    eased = rung == 0 and under >= rows.number("eased.nights")
    forgotten = under >= rows.number("forget.nights")
    note = rung > said or eased
    now_said = rung if note or forgotten else before.said_rung
    return Decision(rung, raw, nights, reason, note, now_said, 0 if note or forgotten else under)
