"""What a file calls a field, and what else it says of it, as clean short text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rootbound_service.intake.limits import NAME_LENGTH
from rootbound_service.intake.shapes.limits import PROPERTIES, PROPERTY_LENGTH
from rootbound_service.intake.shapes.outlines import Drawn

NAME_KEYS = ("name", "field", "field_name", "fieldname", "field name", "label", "title")


def clean(value: object, length: int) -> str:
    """Text in one line, without characters that no name needs.

    Parameters
    ----------
    value
        What the file gave.
    length
        Characters to keep.

    Returns
    -------
    str
        Perhaps empty.
    """
    text = str(value)[: 4 * length]
    seen = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(seen.split())[:length].strip()


def clean_properties(pairs: Iterable[tuple[object, object]]) -> dict[str, str]:
    """Keep what is plain text, a number or yes and no; the rest says nothing to a person."""
    kept: dict[str, str] = {}
    for key, value in pairs:
        if len(kept) == PROPERTIES:
            break
        if isinstance(value, str | int | float) and clean(key, NAME_LENGTH):
            kept[clean(key, NAME_LENGTH)] = clean(value, PROPERTY_LENGTH)
    return kept


def name_of(drawn: Drawn) -> str:
    """Find the name: its own, or the first property that is called like one."""
    if drawn.name:
        return clean(drawn.name, NAME_LENGTH)
    by_key: Mapping[str, str] = {key.lower(): value for key, value in drawn.properties.items()}
    found = (by_key[key] for key in NAME_KEYS if by_key.get(key))
    return clean(next(found, ""), NAME_LENGTH)
