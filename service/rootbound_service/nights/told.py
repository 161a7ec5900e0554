"""What the weather's sources did tonight, in sentences. Pure functions of values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.weather.quality.flags import FLAG_WORDS, UNUSABLE, Flag
from rootbound_service.weather.revisions import joined

if TYPE_CHECKING:
    from rootbound_service.nights.parts import CellNight
    from rootbound_service.weather.places import Place
    from rootbound_service.weather.pull import Pulled

LARGEST = 3
"""So many revisions are told one by one; the others are counted."""


def troubles_by_place(places: Iterable[Place], pulled: Sequence[Pulled]) -> dict[str, str]:
    """Name the places for which no source answered.

    Parameters
    ----------
    places
        Of the fields.
    pulled
        What came of asking each source.

    Returns
    -------
    dict
        Key of the place -> the sentence of its own source.
    """
    failed: dict[str, str] = {}
    for one in pulled:
        failed.update(one.failed)
    return {
        place.key: failed[place.key]
        for place in places
        if all(cell.key in failed for cell in place.cells)
    }


def weather_told(
    pulled: Sequence[Pulled], cells: Iterable[CellNight], night: date
) -> tuple[str, ...]:
    """Say what was out of the ordinary: failures that another source covers, revisions, marks.

    Parameters
    ----------
    pulled
        What came of asking each source.
    cells
        The cells of the night.
    night
        The night.
    """
    sentences: list[str] = []
    for one in pulled:
        sentences += [*_failed(one), *_revised(one), *_marked(one)]
    return (*sentences, *_stand_ins(list(cells), night))


def _failed(one: Pulled) -> list[str]:
    """A source that did not answer for some cells."""
    if not one.failed:
        return []
    why = next(iter(one.failed.values())).rstrip(".")
    return [f"{one.title}: no answer for {len(one.failed)} of {_cells(one.cells)} ({why})"]


def _revised(one: Pulled) -> list[str]:
    """Values that a source has changed, the largest changes one by one."""
    if not one.revised:
        return []
    every = joined(one.revisions).sentences(LARGEST)
    count = f"{one.revised} value{'' if one.revised == 1 else 's'}"
    return [f"{one.title} revised {count}; the largest: {'; '.join(every)}"]


def _marked(one: Pulled) -> list[str]:
    """Values that the quality checks keep out of use."""
    kept_out = {name: count for name, count in one.flags.items() if Flag[name.upper()] & UNUSABLE}
    if not kept_out:
        return []
    kinds = ", ".join(f"{count} {words_of(name)}" for name, count in sorted(kept_out.items()))
    return [f"{one.title}: values stored but not used: {kinds}"]


def words_of(name: str) -> str:
    """Words for the name of a mark.

    Parameters
    ----------
    name
        As counted, in small letters.
    """
    return FLAG_WORDS[Flag[name.upper()]]


def _stand_ins(cells: Sequence[CellNight], night: date) -> list[str]:
    """Cells whose last days rest on more than their own source."""
    leaning = [cell for cell in cells if cell.leans]
    if not leaning:
        return []
    first = leaning[0]
    what = f"of {first.key}: {first.days.words}"
    many = f"{_cells(len(leaning))} of {len(cells)}"
    return [f"In the two weeks before {night}, {many} rest on more than their own source ({what})"]


def _cells(count: int) -> str:
    return f"{count} cell{'' if count == 1 else 's'}"
