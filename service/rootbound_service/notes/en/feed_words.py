"""What machines pass on to people: headlines of warnings, dates to go and look."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.en.particulars import flowering
from rootbound_service.notes.en.quantities import day, in_reach
from rootbound_service.notes.en.wording import ahead_line, rung_label
from rootbound_service.notes.facts import DaysAhead
from rootbound_service.notes.units import water, water_number

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.records import RiskRecord, Units

LANGUAGE = "en-US"
"""RFC 5646."""
FEED_TITLE = "Rootbound: fields to look at"
WARNING_EVENT = "Drought stress of roots"
WARNING_MIND = (
    "A hint to go and look, no forecast of yield. Mind the heat, do not go alone, keep re-entry "
    "intervals; have buried lines located before digging."
)
WITHDRAWN = "Withdrawn: what the warning rested on no longer stands."
VISIT_MIND = (
    "Have buried lines located before digging (in the US call 811), mind the heat, do not go "
    "alone, keep re-entry intervals. Dates follow the weather and move."
)
_TITLES = {
    "dig": "Dig young roots: {name}",
    "dig-again": "A second dig may help: {name}",
    "silk": "{around}, walk it at sunrise: {name}",
    "stress": "Stress may set in: {name}",
}
_WHY = {
    "dig": "From V2 to V5 a few plants show whether the seed furrow or a pan holds the roots.",
    "dig-again": "From V6 to V8, after a soaking rain, a dig shows whether roots have crossed.",
    "silk": "Leaves still rolled at sunrise from the day before mean a full stress day.",
    "stress": "Look whether leaves roll by noon and whether they have unrolled by sunrise.",
}


def warning_headline(name: str, rung: int, ends: str, *, blind: bool) -> str:
    """Say in a line what a warning is about.

    Parameters
    ----------
    name
        Of the field.
    rung
        It is about. [0-4]
    ends
        ``eased``, ``over`` or ``wrong``; empty: the warning stands.
    blind
        Whether tonight has no answer, and the rung is the last one known.
    """
    if ends == "wrong":
        return f"{name}: the warning is withdrawn"
    if ends == "over":
        return f"{name}: the watch of this season is over"
    if ends:
        return f"{name}: eased to {rung_label(rung)}"
    if blind:
        return f"{name}: no answer tonight, last known {rung_label(rung)}"
    return f"{name}: {rung_label(rung)}"


def warning_text(row: RiskRecord, units: Units, ends: str, *, blind: bool) -> str:
    """Say a warning's figures in sentences.

    Parameters
    ----------
    row
        Of the night.
    units
        The reader's.
    ends
        Why the warning ends; empty: it stands.
    blind
        Whether tonight has no answer.
    """
    if ends:
        return "The warning no longer holds."
    if blind:
        return "How the field stands is not known tonight; that is no all-clear. Go and look."
    ahead = DaysAhead("days", row.days_ahead_median, row.days_ahead_low, row.days_ahead_high)
    compared = row.days_ahead_kind == "days" and row.days_ahead_median is not None
    told = (
        _waters(row, units),
        ahead_line(ahead) if compared else "",
        f"Stage {row.stage}." if row.stage else "",
        f"Weather known to {day(row.weather_through, units)}." if row.weather_through else "",
    )
    return " ".join(one for one in told if one)


def warning_entry(kind: str, night: date, row: RiskRecord, units: Units) -> str:
    """Say in a line what an entry of a feed is.

    Parameters
    ----------
    kind
        Alert, Update or Cancel: the standard's own word.
    night
        It is of.
    row
        Of the night.
    units
        The reader's.
    """
    stage = f" Stage {row.stage}." if row.stage else ""
    return f"{kind} of the night of {day(night, units)}.{stage}"


def visit_title(kind: str, name: str, crop: str) -> str:
    """Title of a date.

    Parameters
    ----------
    kind
        dig, dig-again, silk or stress.
    name
        Of the field.
    crop
        Name of the crop.
    """
    around = "silking" if crop == "maize" else flowering(crop)
    return _TITLES[kind].format(name=name, around=around.capitalize())


def visit_text(kind: str) -> str:
    """Why to go on that date, and what to mind."""
    return f"{_WHY[kind]} {VISIT_MIND}"


def _waters(row: RiskRecord, units: Units) -> str:
    """Water in reach of both twins, as far as it is known."""
    if row.water_in_reach_mm is None:
        return "Water in reach is not known."
    held = f"The held roots have {in_reach(row.water_in_reach_mm, units)}"
    if row.free_water_mm is None:
        return f"{held}."
    nothing = [float(water_number(mm, units)) == 0.0
               for mm in (row.water_in_reach_mm, row.free_water_mm)]  # fmt: skip
    free = "none either" if all(nothing) else water(row.free_water_mm, units)
    return f"{held}; free roots would have {free}."
