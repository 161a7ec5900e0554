"""What a text says: the worst field in a breath, the others as a count, how to answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES, Reason
from rootbound_service.notes.en.ahead_words import hold_figure
from rootbound_service.notes.en.quantities import in_reach, short_day
from rootbound_service.notes.en.wording import ROOT_NEWS, held_is_reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units

SERVICE = "Rootbound"
STOP = "STOP ends these."
ANSWER = "Reply OK."
_LONGEST_NAME = 40
_OTHERS = 2
"""Other fields that are named; the rest is a count."""
_STANDS = {"unknown": "no answer", "finished": "season over"}


def text_parts(fields: Sequence[FieldFacts], units: Units) -> tuple[str, tuple[str, ...]]:
    """Return what has to be said, and what may be said beside it, the most useful first.

    Parameters
    ----------
    fields
        The fields of the note, the most urgent first.
    units
        The reader's units.
    """
    worst = fields[0]
    must = f"{SERVICE}: {_state(worst)}."
    may = (
        _water(worst, units),
        _hold(worst, units),
        _others(fields[1:]),
        _why(worst),
        _when(worst, units),
    )
    return must, tuple(one for one in may if one)


def _state(facts: FieldFacts) -> str:
    """Return the field with its short number and where it stands."""
    name = _short(facts.field_name)
    who = f"{name} #{facts.field_id}"
    if facts.status == "unknown":
        return f"{who} has no answer: its weather is missing"
    if facts.status == "finished":
        return f"{who}: the season is over"
    if facts.status == "unrated" or facts.rung is None:
        rung = "" if facts.rung is None else f", free roots would be {RUNG_NAMES[facts.rung]}"
        return f"{who} is not dug{rung}"
    if facts.news in ROOT_NEWS and facts.previous_rung in {None, facts.rung}:
        return f"{who}: {ROOT_NEWS[facts.news]}"
    rung = f"{facts.rung} {RUNG_NAMES[facts.rung]}"
    before = facts.previous_rung
    if before is None or before == facts.rung:
        return f"{who} is {rung}"
    return f"{who} is {rung}, {'up' if facts.rung > before else 'down'} from {before}"


def _others(fields: Sequence[FieldFacts]) -> str:
    """Return the next fields by their short numbers, and how many more there are."""
    if not fields:
        return ""
    named = [f"#{one.field_id} {_word(one)}" for one in fields[:_OTHERS]]
    more = f", +{len(fields) - _OTHERS} more" if len(fields) > _OTHERS else ""
    return f"Also {', '.join(named)}{more}."


def _word(facts: FieldFacts) -> str:
    """Return where a field stands, in a word or two."""
    if facts.status == "watched" and facts.rung is not None:
        return RUNG_NAMES[facts.rung]
    return _STANDS.get(facts.status, "not dug")


def _short(name: str) -> str:
    """Return a name that leaves room for what is to be said of it."""
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 3].rstrip()}..."


def _water(facts: FieldFacts, units: Units) -> str:
    if facts.status != "watched" or facts.water_in_reach_mm is None:
        return ""
    told = in_reach(facts.water_in_reach_mm, units)
    return f"{told[0].upper()}{told[1:]}."


def _hold(facts: FieldFacts, units: Units) -> str:
    """Return what rain would hold the field, or that none is needed."""
    hold = facts.rain_to_hold
    if hold is None or facts.status != "watched" or facts.news == Reason.GROWN_FREE:
        return ""
    figure = hold_figure(hold, units)
    if figure is None:
        return "No rain this week would hold it." if hold.kind == "none_would" else ""
    first = next(day for day in hold.days if day.mm is not None)
    return f"Rain to hold: {figure[0]} by {short_day(first.day, units)}."


def _why(facts: FieldFacts) -> str:
    if facts.status != "watched" or not facts.rung:
        return ""
    return "The roots are why." if held_is_reason(facts) else "The drought is general."


def _when(facts: FieldFacts, units: Units) -> str:
    spell = facts.held_short
    if facts.status != "watched" or spell is None or spell.middle < facts.night:
        return ""
    return f"Stress about {short_day(spell.middle, units)}."
