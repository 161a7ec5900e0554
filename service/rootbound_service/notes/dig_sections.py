"""The digest's two lists of digs: where to dig first, where once more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.listing import named
from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_rules.risk.dig_list import FirstDig
    from rootbound_service.notes.dig_lists import DigList
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.letter import Section
    from rootbound_service.records import Units

_NO_PLACE = 10**9


def dig_sections(
    fields: Sequence[FieldFacts], units: Units, digs: DigList
) -> tuple[Section, Section]:
    """Return both lists; one may be empty.

    Parameters
    ----------
    fields
        All fields of the reader.
    units
        The reader's units.
    digs
        What there is to dig, of these and perhaps other fields.
    """
    first = {one.field_id: one for one in digs.first}
    again = {one.field_id: one for one in digs.again}
    undug = _in_order(fields, first)
    second = [facts for one in again for facts in fields if facts.field_id == one]
    said = say.FIRST_INTRO if second else f"{say.FIRST_INTRO} {say.DIG_CAUTIONS}"
    return (
        named(
            say.FIRST_TITLE,
            said,
            undug,
            lambda facts: _first(facts, first.get(facts.field_id), units),
        ),
        named(
            say.AGAIN_TITLE,
            f"{say.AGAIN_INTRO} {say.DIG_CAUTIONS}",
            second,
            lambda facts: say.again_text(again[facts.field_id], units),
        ),
    )


def _in_order(fields: Sequence[FieldFacts], first: dict[int, FirstDig]) -> list[FieldFacts]:
    """Fields that nobody has dug: those with a place, then those with least water."""

    def turn(facts: FieldFacts) -> tuple[int, int, float, str]:
        found = first.get(facts.field_id)
        place = _NO_PLACE if found is None else found.place
        return place, -(facts.rung or 0), facts.free_water_mm or 0.0, facts.field_name

    undug = [one for one in fields if one.status == "unrated" or one.field_id in first]
    return sorted(undug, key=turn)


def _first(facts: FieldFacts, dig: FirstDig | None, units: Units) -> str:
    """Return why a field should be dug, and what even free roots have left."""
    return say.undug_text(facts, units) if dig is None else say.placed_text(facts, dig, units)
