"""The dig list in words: where a field stands to its window, and why it comes where it comes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.dig_again import AgainReason
from rootbound_rules.risk.dig_list import DigReason
from rootbound_service.notes.en.particulars import short_stage
from rootbound_service.notes.en.quantities import count, day
from rootbound_service.notes.en.wording import rung_label, water_line
from rootbound_service.notes.units import water

if TYPE_CHECKING:
    from rootbound_rules.risk.dig_again import DigAgain
    from rootbound_rules.risk.dig_list import FirstDig
    from rootbound_rules.risk.dig_window import DigWindow
    from rootbound_rules.risk.spring import Spring
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units

DIG_CAUTIONS = (
    "Before you dig: have buried lines located (in the US, call 811), keep pesticide re-entry "
    "intervals, do not dig alone in heat. A slit as deep as the spade's blade is enough: cut it "
    "beside the row and never step into a trench, whose walls can cave in."
)
FIRST_INTRO = (
    "Not rated: without a dig nobody knows how the roots stand, and the figures are those of free "
    "roots. The order says where to look first; it is no rating: only the spade knows a wall."
)
AGAIN_INTRO = (
    "Rain has softened the walls since these were dug, and moist walls let roots through. A second "
    "dig shows whether they have crossed; here that would change what you are told."
)
FIRST_TITLE, AGAIN_TITLE = "Dig these first", "Dig again"
_WET = {DigReason.PLANTED_WET, DigReason.RAIN_BEFORE}


def window_words(window: DigWindow) -> str:
    """Say in a few words where a field stands to its dig window.

    Parameters
    ----------
    window
        Of the field.
    """
    days = window.days
    if window.state == "ahead":
        return "opens later" if days is None else f"opens in {days} d"
    if window.state == "open":
        return "open" if days is None else f"closes in {days} d" if days else "closes today"
    return {"late": "just past", "past": "past", "none": "none known", "unknown": "not known"}[
        window.state
    ]


def first_text(dig: FirstDig, crop: str, units: Units) -> str:
    """Say in a paragraph why a field comes where it comes.

    Parameters
    ----------
    dig
        Its place in the list.
    crop
        Name of the crop.
    units
        The reader's units.
    """
    parts = [window_sentence(dig.window, crop), dig_why(dig)]
    if dig.spring is not None:
        parts.append(_numbers(dig.spring, units))
    return " ".join(part for part in parts if part)


def dig_why(dig: FirstDig) -> str:
    """Say in one sentence why a field comes where it comes; empty where its window says it all.

    Parameters
    ----------
    dig
        Its place in the list.
    """
    if dig.window.state in {"past", "none"}:
        return ""
    found = set(dig.reasons)
    if DigReason.NOT_KNOWN in found:
        return "The weather around planting is not known: go by the window."
    text = _chain(found)
    if found & _WET and DigReason.FINE_SOIL in found:
        text += " Medium to fine soil, more at risk."
    if dig.spring is not None and dig.spring.irrigated and DigReason.DRY_SPELL in found:
        text += " It can be watered, and moist walls let roots through."
    return text


def _chain(found: set[DigReason]) -> str:
    """Say which part of the chain holds: wet at planting, dry since."""
    dry = DigReason.DRY_SPELL in found
    if DigReason.PLANTED_WET in found and dry:
        return "Planted wet, dry since: if the slot was smeared, its walls have had time to harden."
    if DigReason.PLANTED_WET in found:
        return "Planted wet: the slot may be smeared, and a dry spell would harden it."
    if DigReason.RAIN_BEFORE in found and dry:
        return (
            "Rain about planting, dry since: if the slot was smeared, its walls may have hardened."
        )
    if DigReason.RAIN_BEFORE in found:
        return "Rain about planting: it may have been wetter than the water content says."
    if dry:
        return "Not planted wet; dry since, so that a firm wall would hold roots too."
    return "Nothing in the weather points to held roots; a few plants will tell."


def window_sentence(window: DigWindow, crop: str) -> str:
    """Say where a field stands to its window, and what a late dig can still tell.

    Parameters
    ----------
    window
        Of the field.
    crop
        Name of the crop.
    """
    if window.state == "ahead":
        when = "later" if window.days is None else f"in {count(window.days, 'day')}"
        return f"The dig window (V2 to V5) opens {when}."
    if window.state == "open":
        return f"The dig window (V2 to V5) is open{_closing(window.days)}."
    if window.state == "none":
        return f"No source gives a dig window for {crop}: go by the look of the young plants."
    return {
        "late": "The dig window (V2 to V5) is just past: a dig still shows how many roots cross "
        "the row, less surely what held them.",
        "past": "The dig window (V2 to V5) is past: a dig shows where the roots have ended up, "
        "which says more for the next planting than for this summer.",
        "unknown": "How far it has grown is not known.",
    }[window.state]


def _closing(days: int | None) -> str:
    """Say when an open window closes."""
    if days is None:
        return ""
    return f", closes in {count(days, 'day')}" if days else ", closes today"


def _numbers(spring: Spring, units: Units) -> str:
    """Say the figures behind the order."""
    rain = water(spring.rain_before_mm + spring.rain_planting_mm, units)
    soil = f"{spring.texture}, " if spring.texture else ""
    return (
        f"At planting the top layer held {100 * spring.planted_share:.0f}% of field capacity, with "
        f"{rain} of rain in the three days before and on the day; since then up to "
        f"{count(spring.longest_dry, 'day')} without a soaking rain, and the top layer is "
        f"{100 * spring.top_dry:.0f}% dried out now ({soil}{spring.clay_pct:.0f}% clay)."
    )


def again_text(dig: DigAgain, units: Units) -> str:
    """Say in a paragraph why a field should be dug once more.

    Parameters
    ----------
    dig
        The field's.
    units
        The reader's units.
    """
    ago = "today" if dig.since_soaking <= 0 else f"{count(dig.since_soaking, 'day')} ago"
    dug = f"V{int(dig.collars)}, dug {day(dig.dug_on, units)}"
    held, free = rung_label(dig.held_rung), rung_label(dig.free_rung)
    parts = [
        f"{dug}; {water(dig.rain_mm, units)} of water {ago}.",
        f"The coming two weeks may bring it to {held} as dug, free roots to {free}.",
    ]
    low, high = dig.more.low_rung, dig.more.high_rung
    if AgainReason.INTERVAL in dig.reasons and low is not None and high is not None:
        ends = f"The dig leaves open {rung_label(high)} to {rung_label(low)}"
        parts.append(f"{ends}{_settled(dig.more.plants)}")
    if AgainReason.COUNTS_WANTED in dig.reasons:
        parts.append("Count the roots that cross and the roots held this time.")
    return " ".join(parts)


def _settled(plants: int | None) -> str:
    """Say how many plants would settle it."""
    if plants is None:
        return ": dig another spot."
    return f": {count(plants, 'more plant')} would settle it."


def placed_text(facts: FieldFacts, dig: FirstDig, units: Units) -> str:
    """Return why a field comes where it comes, and how even free roots stand."""
    free = f" Free roots would be at {rung_label(facts.rung)}." if facts.rung else ""
    return f"{first_text(dig, facts.crop, units)}{free}"


def undug_text(facts: FieldFacts, units: Units) -> str:
    """Return how free roots stand on a field that has no place in the list."""
    stage = short_stage(facts)
    if facts.rung is None:
        return f"{stage}."
    rung = rung_label(facts.rung)
    return f"Free roots would be at {rung}. {water_line(facts, units)} {stage}."
