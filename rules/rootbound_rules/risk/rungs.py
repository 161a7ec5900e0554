"""The rungs: what each takes, and the named reasons of the ladder. Pure functions of values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rootbound_rules.tables import load_table

RUNG_NAMES = ("ample", "drawing down", "tight", "short", "failing")
SHORT = 3
"""The first rung that rests on what has happened, not on what may."""


class Reason(StrEnum):
    """Why a field stands where it stands tonight, or why there is a note."""

    AMPLE = "ample"
    STRESS_LIKELY_14_DAYS = "stress_likely_14_days"
    STRESS_LIKELY_7_DAYS = "stress_likely_7_days"
    CRITICAL_14_DAYS = "stress_in_critical_window_14_days"
    """Reached only because the needed share is lower in the critical window."""
    CRITICAL_7_DAYS = "stress_in_critical_window_7_days"
    SHORT_PAST_3_DAYS = "short_past_3_days"
    FAILING_PAST_7_DAYS = "failing_past_7_days"
    RISE_WAITS = "rise_waits"
    FALL_WAITS = "fall_waits"
    HELD_BY_HYSTERESIS = "held_by_hysteresis"
    FELL_AFTER_NIGHTS = "fell_after_nights"
    FELL_AFTER_WETTING = "fell_after_wetting"
    RAIN_NOT_KNOWN = "rain_not_known"
    GROWN_FREE = "grown_free"
    HELD_AGAIN = "held_again"
    UNRATED = "unrated"
    NOT_EMERGED = "not_emerged"
    BLACK_LAYER = "black_layer"
    HARVESTED = "harvested"
    WEATHER_TOO_OLD = "weather_too_old"
    WEATHER_PATCHY = "weather_patchy"
    """Too many days of it are missing, however new the last one is."""
    NO_OUTLOOK = "no_outlook"
    NOT_COMPUTED = "could_not_be_computed"


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
    dry: bool = False
    """Next to no water is in reach, whatever may come: no time for good news."""


def threshold(reading: Reading) -> float:
    """Share of members that must agree, lower in the critical window. [0-1]

    Parameters
    ----------
    reading
        Of one twin.
    """
    return load_table("ladder").number("chance_critical" if reading.critical else "chance")


def raw_rung(reading: Reading) -> tuple[int, Reason]:
    """Rung by tonight's thresholds alone, and the reason for it.

    Parameters
    ----------
    reading
        What the outlook says of one twin.
    """
    rows, needed = load_table("ladder"), threshold(reading)
    usual = rows.number("chance")
    failing_stage = reading.collars >= rows.number("failing.from_collar") and not reading.past_r4
    if failing_stage and reading.chance_failing >= usual:
        return 4, Reason.FAILING_PAST_7_DAYS
    grown = reading.collars >= rows.number("short.from_collar")
    if grown and reading.chance_short >= usual:
        return 3, Reason.SHORT_PAST_3_DAYS
    if reading.chance_7 >= needed:
        likely = reading.chance_7 >= usual
        return 2, Reason.STRESS_LIKELY_7_DAYS if likely else Reason.CRITICAL_7_DAYS
    if reading.chance_14 >= needed:
        likely = reading.chance_14 >= usual
        return 1, Reason.STRESS_LIKELY_14_DAYS if likely else Reason.CRITICAL_14_DAYS
    return 0, Reason.AMPLE


def wetted(reading: Reading, rung: int) -> bool:
    """Tell whether rain has brought the chance behind a rung under half of what it takes.

    While next to no water is in reach it has not: rain that is only foreseen ends no rung.

    Parameters
    ----------
    reading
        Tonight's.
    rung
        The rung a field stands on. [1-4]
    """
    if reading.dry:
        return False
    share = load_table("ladder").number("fall.wetting_share")
    behind = {
        1: reading.chance_14,
        2: reading.chance_7,
        3: max(reading.chance_short, reading.chance_7),
        4: max(reading.chance_failing, reading.chance_7),
    }
    return behind[rung] < share * threshold(reading)
