"""Which days of which cells are asked for tonight, and which are still missing of the past."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_service.weather.day import Ask
from rootbound_service.weather.feed import first_day, history_start

if TYPE_CHECKING:
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Habits
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.grid_store import Span

SETTLING = 35
"""On the first of a month the asking reaches so much further back than the age at which values
settle: every day is asked for once more after it has. [d]"""
PIECE_YEARS = 5
"""The past is fetched from the newest years to the oldest, so many at a time."""


def span_of_night(today: date, begin: date, habits: Habits, span: Span) -> tuple[date, date]:
    """Choose the days to ask for tonight.

    Parameters
    ----------
    today
        The night.
    begin
        First day that the seasons of the cell need.
    habits
        Of the service: how far back its values still change.
    span
        What the store has of the cell.

    Returns
    -------
    tuple of date
        First and last day: all of them for a cell not asked before, else as far back as
        values still change, or since the last known day where that is longer ago.
    """
    yesterday = today - timedelta(days=1)
    if span.asked_from is None or span.asked_from > begin:
        return begin, yesterday
    back = habits.settled + SETTLING if today.day == 1 else habits.recent
    start = today - timedelta(days=back)
    if span.last_day is not None:
        start = min(start, span.last_day + timedelta(days=1))
    return max(start, begin), yesterday


def asks_of_night(feed: Feed, cells: Sequence[Cell], today: date, begin: date) -> Iterator[Ask]:
    """Cut tonight's wants into requests; cells with the same days go together.

    Parameters
    ----------
    feed
        The source and its store.
    cells
        Of the fields, each once.
    today, begin
        As for :func:`span_of_night`; before the source's first day nothing is asked.
    """
    first = max(begin, first_day(feed))
    groups: dict[tuple[date, date], list[Cell]] = {}
    for cell, span in zip(cells, feed.store.spans(cells), strict=True):
        days = span_of_night(today, first, feed.source.habits, span)
        groups.setdefault(days, []).append(cell)
    for (start, end), members in groups.items():
        if start <= end:
            yield from feed.source.split(Ask(tuple(members), start, end, today))


def asks_of_history(feed: Feed, cells: Sequence[Cell], today: date, years: int) -> list[Ask]:
    """Cut what is missing of the past years into requests, the newest years first.

    Parameters
    ----------
    feed
        The source and its store.
    cells
        Of the fields; those never asked for tonight's days yet are left out.
    today
        The day of asking.
    years
        How many whole years are wanted.
    """
    first = history_start(feed, today, years)
    groups: dict[date, list[Cell]] = {}
    for cell, span in zip(cells, feed.store.spans(cells), strict=True):
        if span.asked_from is not None and span.asked_from > first:
            groups.setdefault(span.asked_from, []).append(cell)
    asks: list[Ask] = []
    for known_from, members in groups.items():
        end = known_from - timedelta(days=1)
        while end >= first:
            start = max(date(end.year - PIECE_YEARS + 1, 1, 1), first)
            asks += feed.source.split(Ask(tuple(members), start, end, today))
            end = start - timedelta(days=1)
    # A source may cut from the oldest day on, and cells may lack different years.
    return sorted(asks, key=lambda ask: ask.start, reverse=True)


def history_missing(feed: Feed, cells: Sequence[Cell], today: date, years: int) -> int:
    """Count the cells whose past years are not all asked for yet.

    Parameters
    ----------
    feed, cells, today, years
        As for :func:`asks_of_history`.
    """
    first = history_start(feed, today, years)
    return sum(
        span.asked_from is None or span.asked_from > first for span in feed.store.spans(cells)
    )
