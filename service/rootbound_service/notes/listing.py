"""A list of fields under a title: ten are named, the others counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.letter import Item, Section

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from rootbound_service.notes.facts import FieldFacts

MOST = 10
"""So many fields are named in one section."""


def named(
    title: str,
    intro: str,
    fields: Sequence[FieldFacts],
    say: Callable[[FieldFacts], str],
) -> Section:
    """Return a section that names at most ten fields and counts the others.

    Parameters
    ----------
    title, intro
        What stands over the list.
    fields
        In the order of the list.
    say
        What is said of one of them.
    """
    items = tuple(Item(facts.field_name, facts.grower_name, say(facts)) for facts in fields[:MOST])
    return Section(title, intro, items, max(len(fields) - MOST, 0))
