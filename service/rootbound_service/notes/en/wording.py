"""Sentences about one field: facts in, plain English out; the same words in every channel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.risk.cause import Cause, cause_of
from rootbound_rules.risk.rungs import RUNG_NAMES, Reason
from rootbound_service.notes.en.quantities import count, in_reach
from rootbound_service.notes.en.reasons import reason_sentence
from rootbound_service.notes.units import water

if TYPE_CHECKING:
    from rootbound_service.notes.facts import DaysAhead, FieldFacts
    from rootbound_service.records import Units

_NO_RUNG = {
    "unrated": "unrated",
    "unknown": "no answer",
    "waiting": "not up yet",
    "finished": "finished",
}


_NO_ANSWER = {
    Reason.WEATHER_TOO_OLD, Reason.WEATHER_PATCHY, Reason.NO_OUTLOOK, Reason.NOT_COMPUTED,
    Reason.RAIN_NOT_KNOWN,
}  # fmt: skip
"""Only these say why a field has no answer; any other is about a rung that it does not have."""
ROOT_NEWS: dict[str, str] = {
    Reason.GROWN_FREE: "the roots have grown free",
    Reason.HELD_AGAIN: "the roots are held after all",
}
"""News of the roots themselves, in a few words."""


def rung_label(rung: int) -> str:
    """Return number and word of a rung, ``2 tight``: never the one without the other."""
    return f"{rung} {RUNG_NAMES[rung]}"


def status_label(facts: FieldFacts) -> str:
    """Return the rung of a watched field, else the word for why it has none."""
    if facts.status == "watched" and facts.rung is not None:
        return rung_label(facts.rung)
    return _NO_RUNG.get(facts.status, "no answer")


def change(facts: FieldFacts) -> str:
    """Return from which rung to which the field went."""
    rung, before = facts.rung, facts.previous_rung
    if facts.status != "watched" or rung is None:
        return _without_rung(facts)
    if facts.news in ROOT_NEWS and before in {None, rung}:
        return f"{ROOT_NEWS[facts.news].capitalize()}. Its rung stays {rung_label(rung)}."
    if before is None:
        return f"First rating: {rung_label(rung)}."
    if before == rung:
        return f"Still {rung_label(rung)}."
    way = "Up" if rung > before else "Down"
    return f"{way} from {rung_label(before)} to {rung_label(rung)}."


def short_change(facts: FieldFacts) -> str:
    """Return the change in two or three words for a table."""
    rung, before = facts.rung, facts.previous_rung
    if facts.status != "watched" or rung is None:
        return ""
    if before is None:
        return "new"
    return "same" if before == rung else f"{'up' if rung > before else 'down'} from {before}"


def _without_rung(facts: FieldFacts) -> str:
    """Return why a field has no rung; none of these is ever called fine."""
    if facts.status == "unrated":
        text = "Not rated: no dig yet, so nobody knows how its roots stand."
        if facts.rung is None:
            return text
        return f"{text} Free roots would be at {rung_label(facts.rung)}; held roots may be shorter."
    if facts.status == "waiting":
        return "Not up yet; the watch begins at emergence."
    if facts.status == "finished":
        if facts.reason == Reason.HARVESTED:
            return "Harvested: the watch of this season is over."
        return "Black layer reached: the watch of this season is over."
    told = reason_sentence(facts.reason, 0) if facts.reason in _NO_ANSWER else ""
    return f"No answer. {told}" if told else "No answer: it is not known how the field stands."


def why(facts: FieldFacts) -> str:
    """Return the named reason of the decision as a sentence."""
    if facts.status != "watched" or facts.rung is None:
        return ""
    eased = facts.previous_rung is not None and facts.rung < facts.previous_rung
    told = reason_sentence(facts.reason, facts.rung, eased=eased)
    if not facts.news or facts.news == facts.reason:
        return told
    return f"{told} {reason_sentence(facts.news, facts.rung)}"


def held_is_reason(facts: FieldFacts) -> bool:
    """Whether the held roots stand on a higher rung than free roots would."""
    return facts.rung is not None and facts.free_rung is not None and facts.rung > facts.free_rung


def cause(facts: FieldFacts) -> str:
    """Return whether the roots are the reason or the drought is general."""
    if facts.status != "watched" or facts.rung is None or facts.free_rung is None:
        return ""
    free = rung_label(facts.free_rung)
    told = facts.cause or cause_of(facts.rung, facts.free_rung)
    return {
        Cause.NONE: "Held and free roots both have enough.",
        Cause.ROOTS: f"The roots are the reason: free roots would be at {free}.",
        Cause.BOTH: f"The drought is general, and the roots make it worse: free roots would be "
        f"at {free}.",
        Cause.GENERAL: f"The drought is general: free roots would be at {free} too.",
        Cause.NOT_ROOTS: f"The roots are not the reason: free roots would be at {free}.",
    }[told]


def water_line(facts: FieldFacts, units: Units) -> str:
    """Return water in reach of the held roots beside that of free roots."""
    if facts.water_in_reach_mm is None:
        return "Water in reach is not known."
    held = in_reach(facts.water_in_reach_mm, units)
    held = held[0].upper() + held[1:]
    if facts.free_water_mm is None:
        return f"{held}."
    free = water(facts.free_water_mm, units)
    if facts.status == "unrated":
        return f"Free roots would have {free} of water in reach."
    return f"{held}; free roots would have {free}."


def ahead_line(ahead: DaysAhead) -> str:
    """Return how many days sooner the held roots run short, as a sentence."""
    if ahead.kind == "days" and ahead.median is not None:
        few = abs(round(ahead.median))
        if few == 0:
            return f"Stress sets in on about the same day as with free roots{_range(ahead)}."
        way = "sooner" if ahead.median > 0 else "later"
        return (
            f"Stress sets in about {count(few, 'day')} {way} than with free roots{_range(ahead)}."
        )
    if ahead.kind == "free_would_not":
        return "Stress sets in with the held roots; with free roots it would not this season."
    if ahead.kind == "neither":
        return "Stress sets in with neither held nor free roots before black layer."
    return "Nothing to compare yet."


def short_ahead(ahead: DaysAhead) -> str:
    """Return days ahead for a table cell."""
    if ahead.kind == "days" and ahead.median is not None:
        few = round(ahead.median)
        if few == 0:
            return "Same day as free roots"
        spread = span(ahead)
        days = f"{count(abs(few), 'day')} {'sooner' if few > 0 else 'later'}"
        return f"{days} ({spread})" if spread else days
    if ahead.kind == "free_would_not":
        return "Stress with held roots only"
    return "No stress in the outlook" if ahead.kind == "neither" else ""


def span(ahead: DaysAhead) -> str:
    """Return the range, ``4 to 9``, or nothing where all members agree."""
    if ahead.low is None or ahead.kind != "days":
        return ""
    if ahead.high is None:
        return f"{round(ahead.low)} or more" if round(ahead.low) > 0 else ""
    if round(ahead.low) == round(ahead.high):
        return ""
    return f"{round(ahead.low)} to {round(ahead.high)}"


def _range(ahead: DaysAhead) -> str:
    """Return the range in words, or nothing where there is none."""
    spread = span(ahead)
    return f" ({spread} in 8 of 10 outlook years)" if spread else ""


def sure_line(facts: FieldFacts, members: int) -> str:
    """Return how many of the outlook's past summers agree.

    Parameters
    ----------
    facts
        The field.
    members
        Past summers in the outlook; 0 when not known, then shares are given in per cent.
    """
    if facts.status not in {"watched", "unrated"}:
        return ""
    shares = ((facts.chance_7, 7), (facts.chance_14, 14))
    told = [f"{_of(c, members)} within {days} days" for c, days in shares if c is not None]
    if not told:
        return ""
    whole = f" of {members}" if members > 0 else " of"
    first, *rest = told
    first = first.replace(" within", f"{whole} past summers brought stress within")
    both = ", ".join((first, *rest))
    begun = "tonight's soil and the forecast" if facts.forecast else "tonight's soil"
    return f"Started from {begun}, {both}."


def _of(chance: float, members: int) -> str:
    """Return a share as a count of past summers, or in per cent where their number is not known."""
    return str(round(chance * members)) if members > 0 else f"{100 * chance:.0f}%"
