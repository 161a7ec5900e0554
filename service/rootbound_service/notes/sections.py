"""The digest's lists: what to dig, what has no answer, what changed, what it rests on."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rootbound_service.notes.dig_lists import DigList
from rootbound_service.notes.dig_sections import dig_sections
from rootbound_service.notes.letter import Item, Section
from rootbound_service.notes.listing import MOST, named
from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units


def sections(
    fields: Sequence[FieldFacts], units: Units, digs: DigList | None = None
) -> tuple[Section, ...]:
    """Return the sections under the table; an empty one is left out.

    Parameters
    ----------
    fields
        All fields, the most urgent first.
    units
        The reader's units.
    digs
        What there is to dig; None where nobody put it in order.
    """
    found = (
        *dig_sections(fields, units, digs or DigList()),
        named(
            *say.NO_ANSWER,
            [facts for facts in fields if facts.status == "unknown"],
            lambda facts: say.no_answer_text(facts, units),
        ),
        named(say.CHANGED, "", [facts for facts in fields if say.moved(facts)], say.changed_text),
        _sources(fields, units),
    )
    return tuple(section for section in found if section.items)


def _sources(fields: Sequence[FieldFacts], units: Units) -> Section:
    """Return every source of weather with its last real day, once."""
    key = [(facts.weather_source, facts.weather_through) for facts in fields]
    many, first = Counter(key), dict(zip(reversed(key), reversed(fields), strict=True))
    items = tuple(
        Item(one.weather_source, "", say.source_text(one, many[key], units))
        for key, one in reversed(first.items())
    )
    return Section(say.SOURCES, "", items[:MOST], max(len(items) - MOST, 0))
