"""Brings the stores up to date for all places: each source in turn, each cell once."""

from __future__ import annotations

from datetime import date
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from rootbound_service.weather.judge import JudgeOf
from rootbound_service.weather.places import cells_by_source, own_cells
from rootbound_service.weather.pull import Pulled, pull
from rootbound_service.weather.spans import asks_of_history, asks_of_night

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Ask
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.normals_shelf import NormalsShelf
    from rootbound_service.weather.places import Place


def bring_night(
    feeds: Mapping[str, Feed],
    places: Sequence[Place],
    today: date,
    begin: date,
    normals: NormalsShelf,
    progress: Callable[[int, int], None] | None = None,
) -> list[Pulled]:
    """Ask every source for tonight's days of its cells.

    Parameters
    ----------
    feeds
        The sources.
    places
        Of the fields.
    today
        The night; yesterday is the last day asked for.
    begin
        First day that the fields' seasons need.
    normals
        What is usual in each cell.
    progress
        Told after each request, of one source after the other.

    Returns
    -------
    list of Pulled
        One a source. The sources that stand in come first, so that the preferred one's
        values can be held against theirs.
    """
    cells = cells_by_source(places)
    found: list[Pulled] = []
    for name in stand_ins_first(places):
        feed = feeds[name]
        judge = JudgeOf(feed, normals, _beside(feeds, places, name))
        wanted = partial(asks_of_night, feed, cells[name], today, begin)
        found.append(
            _bring(feed, cells[name], wanted, partial(pull, judge=judge, progress=progress))
        )
    return found


def bring_history(
    feeds: Mapping[str, Feed],
    places: Sequence[Place],
    today: date,
    years: int,
    normals: NormalsShelf,
    progress: Callable[[int, int], None] | None = None,
    most: int | None = None,
) -> list[Pulled]:
    """Ask the preferred source of every place for the past years it still lacks.

    Parameters
    ----------
    feeds, places, today, normals, progress
        As for :func:`bring_night`.
    years
        How many whole past years are wanted.
    most
        Requests to make at the most; the rest is left for the next time.
    """
    found: list[Pulled] = []
    for name, cells in own_cells(places).items():
        feed = feeds[name]
        judge = JudgeOf(feed, normals, past=True)
        wanted = partial(asks_of_history, feed, cells, today, years)
        ask = partial(pull, judge=judge, progress=progress, most=most, chained=True)
        found.append(_bring(feed, cells, wanted, ask))
    return found


def stand_ins_first(places: Sequence[Place]) -> list[str]:
    """Order the sources so that each comes after those that stand in for it.

    Parameters
    ----------
    places
        Each with its sources in order of preference.
    """
    names = dict.fromkeys(chain.from_iterable(reversed(place.sources) for place in places))
    rank = {name: max(_rank(place, name) for place in places) for name in names}
    return sorted(names, key=lambda name: -rank[name])


def _bring(
    feed: Feed,
    cells: Sequence[Cell],
    wanted: Callable[[], Iterable[Ask]],
    ask: Callable[[Feed, Iterable[Ask]], Pulled],
) -> Pulled:
    """Ask for what is wanted; of a source whose store cannot be read, nothing: all cells fail."""
    try:
        asks = list(wanted())
    except Exception as error:  # noqa: BLE001  one torn store never stops the others
        why = f"{feed.source.title}: the stored weather cannot be used ({error})"
        failed = dict.fromkeys((cell.key for cell in cells), why)
        return Pulled(feed.name, feed.source.title, cells=len(cells), failed=failed)
    return ask(feed, asks)


def _rank(place: Place, name: str) -> int:
    """How far back a source stands for a place; -1 where it does not serve it."""
    return place.sources.index(name) if name in place.sources else -1


def _beside(
    feeds: Mapping[str, Feed], places: Sequence[Place], name: str
) -> tuple[Feed, dict[Cell, Cell]] | None:
    """The first source that stands in for this one, and its cell for each of ours."""
    own = [place for place in places if place.cell.source == name and place.others]
    if not own:
        return None
    other = own[0].others[0].source
    theirs = {place.cell: place.others[0] for place in own if place.others[0].source == other}
    return feeds[other], theirs
