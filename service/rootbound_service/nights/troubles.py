"""What went wrong tonight, in sentences for the operator. A pure function of values."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.nights.parts import Computed, Decided, Gathered

MOST_NAMES = 8
"""So many fields are named in a sentence; the others are counted."""


def troubles_of(gathered: Gathered, decided: Sequence[Decided]) -> tuple[str, ...]:
    """Say what went wrong: a sentence a cell without new weather, then one a field not computed.

    Parameters
    ----------
    gathered
        What the night started from.
    decided
        Every field of the night.

    Returns
    -------
    tuple of str
        Each cell's sentence once, however many fields lie in it.
    """
    fields: dict[str, list[Decided]] = defaultdict(list)
    for one in decided:
        key = gathered.cell_of[one.computed.field.id]
        if key in gathered.troubles and one.computed.status != "finished":
            fields[key].append(one)
    cells = [_of_cell(gathered, key, said, fields[key]) for key, said in gathered.troubles.items()]
    told = {id(one) for ones in fields.values() for one in ones if by_weather(one.computed)}
    rest = [one.computed.failure for one in decided if id(one) not in told]
    return (*cells, *(sentence for sentence in rest if sentence))


def _of_cell(gathered: Gathered, key: str, said: str, fields: Sequence[Decided]) -> str:
    """Sentence of a cell: what happened, and what it means for its fields."""
    cell = gathered.cells.get(key)
    silent = [one for one in fields if by_weather(one.computed)]
    on = sum(one.computed.status != "unknown" for one in fields)
    means: list[str] = []
    if on and cell is not None:
        goes = "field goes" if on == 1 else "fields go"
        means.append(f"{on} {goes} on with the weather stored through {cell.known_through}")
    if silent:
        last = f", last real weather {cell.known_through}" if cell else ", no weather stored yet"
        means.append(f"no answer for {_names(silent)}{last}")
    return "; ".join((said.rstrip("."), *means))


def by_weather(computed: Computed) -> bool:
    """Tell whether a field is without an answer for want of weather.

    Parameters
    ----------
    computed
        The field.
    """
    return computed.status == "unknown" and computed.unknown_because == "weather_too_old"


def _names(fields: Sequence[Decided]) -> str:
    """Names of the fields, as many as a sentence bears."""
    names = [one.computed.field.name for one in fields[:MOST_NAMES]]
    more = len(fields) - len(names)
    return ", ".join(names) + (f" and {more} more" if more > 0 else "")
