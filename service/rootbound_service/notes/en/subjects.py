"""Subject lines and headlines: what has to be understood without opening the letter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.notes.en.quantities import count, in_reach
from rootbound_service.notes.en.wording import ROOT_NEWS, status_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units

_TIGHT, _SHORT = 2, 3


def note_subject(fields: Sequence[FieldFacts], units: Units) -> str:
    """Return the subject of a note.

    Parameters
    ----------
    fields
        The fields of the note, the most urgent first.
    units
        The reader's units.

    Returns
    -------
    str
        Such as ``Tight: Long Acre and 1 more - 0.4 in of water in reach``.
    """
    worst = fields[0]
    others = f" and {len(fields) - 1} more" if len(fields) > 1 else ""
    tail = ""
    if worst.status == "watched" and worst.water_in_reach_mm is not None:
        tail = f" - {in_reach(worst.water_in_reach_mm, units)}"
    if worst.status == "unrated" and worst.rung is not None:
        return f"Not dug: {worst.field_name}{others} - free roots {_free(worst)}"
    return f"{_state(worst)}: {worst.field_name}{others}{tail}"


def _free(facts: FieldFacts) -> str:
    """Return how the free roots of a field without a dig stand, and whether that is better."""
    word, before = RUNG_NAMES[facts.rung or 0], facts.previous_rung
    if before is None or facts.rung is None or facts.rung >= before:
        return f"would be {word}"
    return "would be back to ample" if facts.rung == 0 else f"would have eased to {word}"


def _state(facts: FieldFacts) -> str:
    """Return the rung's word, or how far the field has eased."""
    if facts.status != "watched" or facts.rung is None:
        return status_label(facts).capitalize()
    word = RUNG_NAMES[facts.rung]
    if facts.news in ROOT_NEWS and facts.previous_rung in {None, facts.rung}:
        return ROOT_NEWS[facts.news].capitalize()
    if facts.previous_rung is None or facts.rung >= facts.previous_rung:
        return word.capitalize()
    return "Back to ample" if facts.rung == 0 else f"Eased to {word}"


def note_headline(fields: Sequence[FieldFacts], units: Units) -> str:
    """Return the first sentence of a note, the most urgent field first."""
    worst = fields[0]
    if worst.status == "unrated" and worst.rung is not None:
        state = f"{worst.field_name} is not dug; free roots {_free(worst)}, held roots may be worse"
    elif worst.status != "watched" or worst.rung is None:
        state = f"{worst.field_name}: {status_label(worst)}"
    elif worst.news in ROOT_NEWS and worst.previous_rung in {None, worst.rung}:
        state = f"{worst.field_name}: {ROOT_NEWS[worst.news]}"
    else:
        eased = worst.previous_rung is not None and worst.rung < worst.previous_rung
        verb = ("is back to" if worst.rung == 0 else "has eased to") if eased else "is"
        state = f"{worst.field_name} {verb} {RUNG_NAMES[worst.rung]}"
        if worst.water_in_reach_mm is not None:
            state += f", with {in_reach(worst.water_in_reach_mm, units)}"
    return f"{state}."


def digest_subject(fields: Sequence[FieldFacts], week: int) -> str:
    """Return the subject of a digest, such as ``Week 29: 3 of 12 fields short of water``."""
    return f"Week {week}: {_digest_state(fields)}"


def _digest_state(fields: Sequence[FieldFacts]) -> str:
    """Return the worst state, its count, and never good news while a field has no answer."""
    everything = count(len(fields), "field")
    rungs = [facts.rung for facts in fields if facts.status == "watched" and facts.rung is not None]
    short = sum(rung >= _SHORT for rung in rungs)
    tight = sum(rung >= _TIGHT for rung in rungs)
    if short:
        return f"{short} of {everything} short of water in reach"
    if tight:
        return f"{tight} of {everything} tight on water in reach"
    if any(rungs):
        return f"{sum(rung > 0 for rung in rungs)} of {everything} drawing down"
    open_ends = missing(fields)
    if open_ends:
        return f"none of {everything} known to be short, {open_ends}"
    return f"water in reach is ample on {len(rungs)} of {everything}"


def missing(fields: Sequence[FieldFacts]) -> str:
    """Return how many fields are unrated and how many have no answer, or nothing."""
    unrated = sum(facts.status == "unrated" for facts in fields)
    unknown = sum(facts.status == "unknown" for facts in fields)
    told = (
        f"{unrated} unrated" if unrated else "",
        f"{unknown} without an answer" if unknown else "",
    )
    return ", ".join(part for part in told if part)
