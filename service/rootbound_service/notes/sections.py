"""The digest's lists: who stands how, what warnings came to, what to dig, what is not known."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rootbound_service.notes.dig_sections import dig_sections
from rootbound_service.notes.letter import Item, Section
from rootbound_service.notes.listing import by_grower, named
from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.week import Week
    from rootbound_service.records import Units


def news_sections(
    fields: Sequence[FieldFacts], units: Units, week: Week, *, growers: bool = False
) -> tuple[Section, ...]:
    """Return what the week brought, whole; an empty section is left out.

    Parameters
    ----------
    fields
        All fields, the most urgent first.
    units
        The reader's units.
    week
        What the week was like.
    growers
        Whether each grower has a line, for a reader who advises several.
    """
    found = (
        _unreached(week, units),
        _growers(fields) if growers else Section(say.GROWERS, "", ()),
        _outcomes(fields, week, units),
    )
    return tuple(section for section in found if section.items)


def sections(fields: Sequence[FieldFacts], units: Units, week: Week) -> tuple[Section, ...]:
    """Return the lists under the pictures, whole; an empty one is left out.

    Parameters
    ----------
    fields, units, week
        As for :func:`news_sections`.
    """
    found = (
        named(say.CHANGED, "", [facts for facts in fields if say.moved(facts)], say.changed_text),
        *dig_sections(fields, units, week.digs),
        named(
            *say.NO_ANSWER,
            [facts for facts in fields if facts.status == "unknown"],
            lambda facts: say.no_answer_text(facts, units),
        ),
        named(
            say.SILENT,
            "",
            [facts for facts in fields if facts.field_id in week.silent],
            lambda facts: say.silent_text(week.silent[facts.field_id], units),
        ),
        _sources(fields, units),
    )
    return tuple(section for section in found if section.items)


def _unreached(week: Week, units: Units) -> Section:
    """Notes that came too late or not at all: their news is told here."""
    told = ((name, say.unreached_text(one, units)) for name, one in week.unreached)
    items = tuple(Item(name, "", text) for name, text in told)
    return Section(*say.UNREACHED, items)


def _growers(fields: Sequence[FieldFacts]) -> Section:
    """A line for each grower, in the order of their most urgent field."""
    growers = by_grower(fields).items()
    items = tuple(Item(name, "", say.grower_text(mine)) for name, mine in growers)
    return Section(say.GROWERS, "", items if len(items) > 1 else ())


def _outcomes(fields: Sequence[FieldFacts], week: Week, units: Units) -> Section:
    """What each warning of last week came to, so far."""
    known = {facts.field_id: facts for facts in fields}
    items = tuple(
        Item(facts.field_name, facts.grower_name, say.outcome_text(one, units))
        for one in week.outcomes
        if (facts := known.get(one.field_id)) is not None
    )
    return Section(*say.OUTCOMES, items)


def _sources(fields: Sequence[FieldFacts], units: Units) -> Section:
    """Return every source of weather once, with its last real days, the latest first."""
    ages: dict[str, Counter[date | None]] = {}
    for facts in fields:
        ages.setdefault(facts.weather_source, Counter())[facts.weather_through] += 1
    night = fields[0].night
    items = tuple(
        Item(name, "", say.source_text(many, night, units)) for name, many in ages.items()
    )
    return Section(say.SOURCES, "", items)
