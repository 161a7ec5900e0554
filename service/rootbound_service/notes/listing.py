"""Lists of fields under a title, whole on a page, cut in a letter."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from rootbound_service.notes.letter import Item, Section

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from rootbound_service.notes.facts import FieldFacts


def named(
    title: str,
    intro: str,
    fields: Sequence[FieldFacts],
    words: Callable[[FieldFacts], str],
) -> Section:
    """Return a section that names fields.

    Parameters
    ----------
    title, intro
        What stands over the list.
    fields
        In the order of the list.
    words
        What is said of one of them.
    """
    items = tuple(Item(facts.field_name, facts.grower_name, words(facts)) for facts in fields)
    return Section(title, intro, items)


def by_grower(fields: Sequence[FieldFacts]) -> dict[str, list[FieldFacts]]:
    """Return the fields of each grower, in the order of their first one.

    Parameters
    ----------
    fields
        The most urgent first.
    """
    found: dict[str, list[FieldFacts]] = {}
    for facts in fields:
        found.setdefault(facts.grower_name, []).append(facts)
    return found


def cut(section: Section, most: int) -> Section:
    """Return a section that names so many at most and counts the others.

    Parameters
    ----------
    section
        Whole.
    most
        Items that stay.
    """
    left = section.more + max(len(section.items) - most, 0)
    return replace(section, items=section.items[:most], more=left)
