"""Sentences about the days to come: when roots run short, what rain would hold, how they grow."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.en.believed import belief_lines
from rootbound_service.notes.en.quantities import count, short_day
from rootbound_service.notes.units import to_units, unit_name

if TYPE_CHECKING:
    from rootbound_rules.risk.rain_to_hold import HoldDay, ToHold
    from rootbound_service.notes.facts import FieldFacts, Spell
    from rootbound_service.records import Units

_FEW = 0.1
"""Half of it rounds to none in ten."""


WATER = "water"
"""What a field with irrigation is given."""
_TOLD_PCT = 1.0
"""An exposure that stays under this is not worth a line."""


def when_line(facts: FieldFacts, units: Units) -> str:
    """Return when the roots run short, held beside free.

    Parameters
    ----------
    facts
        The field.
    units
        The reader's units; they also order day and month.
    """
    if facts.held_short is None:
        return _unlikely(facts)
    held = _spell(facts.held_short, facts, units)
    free = facts.free_short
    if facts.status == "unrated":
        return f"With free roots stress sets in {held}."
    been = "Stress set in" if facts.held_short.middle < facts.night else "Stress sets in"
    if free is None:
        return f"{been} {held}; with free roots probably not this season."
    if free.middle == facts.held_short.middle:
        return f"{been} {held}; with free roots no later."
    return f"{been} {held}; with free roots {_day(free, facts, units)}."


def _unlikely(facts: FieldFacts) -> str:
    """Return how unlikely it is that stress sets in at all."""
    if facts.chance_short is None:
        return ""
    share = facts.chance_short
    if share < 0.5 * _FEW:
        return "Stress does not set in before black layer in the outlook."
    return f"Stress sets in before black layer in {_in_ten(share)} outlook years."


def _spell(spell: Spell, facts: FieldFacts, units: Units) -> str:
    """Return a day with its range."""
    day = _day(spell, facts, units)
    if spell.middle < facts.night:
        return day
    first = short_day(max(spell.first, facts.night), units)
    if spell.last is None:
        return f"{day} ({first} at the soonest, in some years not at all)"
    last = short_day(spell.last, units)
    return day if first == last else f"{day} ({first} to {last} in 8 of 10 outlook years)"


def _day(spell: Spell, facts: FieldFacts, units: Units) -> str:
    """Return a day that is past or to come."""
    day = short_day(spell.middle, units)
    return f"on {day}" if spell.middle < facts.night else f"about {day}"


def hold_line(hold: ToHold | None, units: Units, what: str = "rain") -> str:
    """Return how much rain would keep the field from climbing, and by when.

    Parameters
    ----------
    hold
        What the search found.
    units
        The reader's units.
    what
        ``rain`` or ``water``, as the sentence names it.
    """
    if hold is None:
        return ""
    if hold.kind == "none_needed":
        return "None needed beyond what is expected: it does not climb in the coming week."
    if hold.kind == "at_top":
        return f"It stands on the highest rung; {what} can only bring it down."
    if hold.kind == "already_climbing":
        return f"It is climbing already: no coming {what} changes what has happened."
    days = [day for day in hold.days if day.mm is not None]
    if not days:
        return f"No {what} of the coming week would keep it from climbing."
    first, last = days[0], days[-1]
    told = f"{_amount(first, units)} more than expected on {short_day(first.day, units)}"
    if last is not first:
        told += f", or {_amount(last, units, ranged=False)} on {short_day(last.day, units)},"
    early = "; sooner it would run through" if first is not hold.days[0] else ""
    late = "; later would be too late" if last is not hold.days[-1] else ""
    return f"{told} would keep it from climbing{early}{late}."


def hold_figure(hold: ToHold | None, units: Units) -> tuple[str, str] | None:
    """Return the amount that holds by the first day, as a big number and its caption.

    Parameters
    ----------
    hold
        What the search found.
    units
        The reader's units.
    """
    first = next((day for day in hold.days if day.mm is not None), None) if hold else None
    if hold is None or hold.kind != "rain" or first is None:
        return None
    low, high = _bounds(first, units)
    spread = f" ({low} to {high})" if low and high and low != high else ""
    caption = f"more rain on {short_day(first.day, units)} would hold it{spread}"
    return f"{_round_up(first.mm or 0.0, units)} {unit_name(units)}", caption


def short_when(facts: FieldFacts, units: Units) -> str:
    """Return when stress sets in and what rain would hold the field, for a table's line.

    Parameters
    ----------
    facts
        The field.
    units
        The reader's units.
    """
    told: list[str] = []
    if facts.held_short is not None and facts.held_short.middle >= facts.night:
        told.append(f"Stress about {short_day(facts.held_short.middle, units)}.")
    if (hold := hold_figure(facts.rain_to_hold, units)) is not None:
        told.append(f"{hold[0]} {hold[1]}.")
    return " ".join(told)


def _amount(day: HoldDay, units: Units, *, ranged: bool = True) -> str:
    """Return an amount, with its range where asked for."""
    told = f"{_round_up(day.mm or 0.0, units)} {unit_name(units)}"
    low, high = _bounds(day, units)
    if not ranged or low == high:
        return told
    if high:
        return f"{told} ({low} to {high})"
    return f"{told} ({low} or more)" if float(low or 0.0) > 0.0 else told


def _bounds(day: HoldDay, units: Units) -> tuple[str, str]:
    """Return the range of an amount; empty where an end is not known."""
    low = "" if day.low is None else _round_up(day.low, units)
    return low, "" if day.high is None else _round_up(day.high, units)


def _round_up(mm: float, units: Units) -> str:
    """Return an amount in the reader's unit, rounded up so that it is enough; ``mm`` in mm."""
    step = 0.1 if units == "us" else 1.0
    steps = max(-(-round(to_units(mm, units), 4) // step), 1 if mm > 0.0 else 0)
    return f"{steps * step:.1f}" if units == "us" else f"{steps * step:.0f}"


def worse_line(facts: FieldFacts) -> str:
    """Return how likely it is that the field stands worse within two weeks."""
    if not facts.rung_chances or facts.rung is None or facts.status != "watched":
        return ""
    worse = sum(facts.rung_chances[facts.rung + 1 :])
    if worse < 0.5 * _FEW:
        return ""
    return f"Within two weeks {_in_ten(worse)} outlook years go higher than tonight's rung."


def _in_ten(share: float) -> str:
    """Return a share as so many of ten; ``share`` between 0 and 1."""
    tenths = round(10.0 * share)
    if tenths == 0:
        return "fewer than 1 in 10"
    return "all" if share > 1.0 - 0.5 * _FEW else f"{min(tenths, 9)} in 10"


def roots_line(facts: FieldFacts, units: Units) -> str:
    """Return how far the held roots reach, today and later."""
    if facts.status != "watched" or facts.reach is None:
        return ""
    now = f"They reach {100 * facts.reach:.0f}% of the rooted soil today"
    later = facts.reach_later
    if later is None or facts.reach >= 1.0:
        return f"{now}."
    low, high = 100 * later.low, 100 * later.high
    spread = "" if round(low) == round(high) else f" ({round(low)} to {round(high)})"
    return f"{now}, {100 * later.middle:.0f}%{spread} by {short_day(later.day, units)}."


def plants_line(facts: FieldFacts) -> str:
    """Return whether more plants would make the dig surer where it matters."""
    more = facts.more_plants
    if more is None or facts.status != "watched":
        return ""
    if more.kind == "counts_wanted" and not facts.wall_class and not facts.pan_class:
        return ""  # nothing was found that counts could measure
    if more.kind == "counts_wanted":
        return "Counting roots that cross and roots held would make this surer."
    if more.kind == "more" and more.plants:
        return f"{count(more.plants, 'more plant')} would settle which rung the dig means."
    if more.kind == "beyond":
        return "The dig lies on the edge of a rung; more plants would hardly settle it."
    return ""


def exposure_line(facts: FieldFacts) -> str:
    """Return the published losses for such stress days, as a range with what it is."""
    exposed = facts.exposure
    if exposed is None or exposed.high < _TOLD_PCT:
        return ""
    low, high = round(exposed.low), round(exposed.high)
    return f"For stress days like those so far, {low} to {high}% is published. {exposed.caveat}"


def observed_line(facts: FieldFacts, units: Units) -> str:
    """Return what people measured and saw on the field that counts in the figures.

    Parameters
    ----------
    facts
        The field.
    units
        The reader's units.
    """
    told: list[str] = []
    if facts.gauge_days:
        told.append(f"Rain of {count(facts.gauge_days, 'day')} is from the field's own gauge.")
    if facts.watered_days:
        told.append(f"Watering of {count(facts.watered_days, 'day')} is counted.")
    return " ".join([*told, *belief_lines(facts.belief, units)])
