"""How one source stands: its cells, the age and the gaps of its days, what it revised."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.day import QUANTITY_NAMES, VITAL, Status
from rootbound_service.weather.quality.flags import counts
from rootbound_service.weather.spans import history_missing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.feed import Feed

LATELY = 60
"""Gaps, marks and revisions are counted over so many days."""


@dataclass(frozen=True, slots=True)
class SourceStatus:
    """One source, over the cells that the fields need."""

    title: str
    cells: int
    asked: int
    """Cells that were asked for already."""
    last_days: tuple[date, date] | None
    """Oldest and newest of the cells' last known days."""
    gaps: int
    """Days of the last 60 before each cell's last known one that lack a temperature or rain."""
    provisional: float
    """Share of the last 60 days' values that may still change. [0-1]"""
    marks: Counter[str]
    """Values of the last 60 days that the quality checks marked, by kind."""
    revised: int
    """Values changed by the source in the last 60 days."""
    past_missing: int
    """Cells that still lack past years; 0 for a source that only stands in."""


def status_of(
    feed: Feed, cells: Sequence[Cell], today: date, years: int, own: Sequence[Cell]
) -> SourceStatus:
    """Look at the stored days of one source.

    Parameters
    ----------
    feed
        The source and its store.
    cells
        Cells that the fields need of it.
    today
        The day.
    years
        Past years wanted.
    own
        Those of the cells for which it is the preferred source.
    """
    spans = feed.store.spans(cells)
    known = [span.last_day for span in spans if span.last_day is not None]
    start, end = today - timedelta(days=LATELY), today - timedelta(days=1)
    days = feed.store.read(cells, start, end)
    there = ~np.isnan(days.values)
    vital = [QUANTITY_NAMES.index(name) for name in VITAL if name in feed.source.quantities]
    last = [(min(span.last_day, end) - start).days if span.last_day else -1 for span in spans]
    count: int = days.values.shape[2]
    until = np.arange(count, dtype=np.intp) <= np.array(last, np.intp)[:, None]
    whole = ~np.isnan(days.usable()[vital]).any(axis=0)
    open_ones = there & (days.status != Status.FINAL)
    return SourceStatus(
        title=feed.source.title,
        cells=len(cells),
        asked=sum(span.asked_from is not None for span in spans),
        last_days=(min(known), max(known)) if known else None,
        gaps=int((until & ~whole).sum()),
        provisional=float(open_ones.sum() / max(there.sum(), 1)),
        marks=Counter(counts(days.flags)),
        revised=len(feed.store.revisions.of(cells=cells, since=start)),
        past_missing=history_missing(feed, own, today, years) if own else 0,
    )
