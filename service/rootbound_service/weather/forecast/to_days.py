"""From values over intervals to local days: extremes, means and sums, and what is covered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.forecast.day import ESTIMATED, PARTIAL
from rootbound_service.weather.forecast.intervals import DAY_S, day_edges, local_day, overlap

if TYPE_CHECKING:
    from datetime import date
    from zoneinfo import ZoneInfo

    from rootbound_service.weather.forecast.intervals import Seconds
    from rootbound_service.weather.forecast.nws_layers import Layer

SLACK_S = 1.0
LONGEST_RAIN_S = 12 * 3600.0
"""Sums come in slices of up to 6 h; of a much longer one nobody knows how it was joined."""


@dataclass(frozen=True, slots=True, eq=False)
class OfDays:
    """One quantity by day, and how it was made (bits ``ESTIMATED``, ``PARTIAL``)."""

    values: NDArray[np.float64]
    made: NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class LocalDays:
    """Consecutive days of a place, as its clocks have them."""

    start: date
    zone: ZoneInfo
    edges: Seconds
    """First moments of the days and the end of the last, shape (days + 1,)."""

    @classmethod
    def of(cls, start: date, days: int, zone: ZoneInfo) -> LocalDays:
        """Lay out days from a first one on."""
        return cls(start, zone, day_edges(start, days, zone))

    @property
    def count(self) -> int:
        """How many there are."""
        return self.edges.size - 1


def highest(layer: Layer, days: LocalDays) -> OfDays:
    """Highest values by day: an interval is of the local day its midpoint is in.

    Parameters
    ----------
    layer, days
        What is expected, and when.
    """
    return _extremes(layer, days, at_end=False)


def lowest(layer: Layer, days: LocalDays) -> OfDays:
    """Lowest values by day: a night is of the local day it ends in.

    Parameters
    ----------
    layer, days
        What is expected, and when.
    """
    return _extremes(layer, days, at_end=True)


def mean(layer: Layer, opens: Seconds, closes: Seconds) -> OfDays:
    """Mean over windows, each value weighted by how long it holds.

    Parameters
    ----------
    layer
        What is expected.
    opens, closes
        The windows. A value is given wherever any is known, and marked where not all is.
    """
    held = overlap(layer.begins, layer.ends, opens, closes)
    known = held.sum(axis=1)
    values = np.where(known > 0, held @ layer.values / np.maximum(known, 1e-9), np.nan)
    return OfDays(values, _partly(known, closes - opens))


def total(layer: Layer, opens: Seconds, closes: Seconds) -> OfDays:
    """Sum over windows of amounts, each split by how much of its time is within.

    Parameters
    ----------
    layer
        Amounts over intervals.
    opens, closes
        The windows.
    """
    held = overlap(layer.begins, layer.ends, opens, closes)
    lengths = layer.ends - layer.begins
    known = held.sum(axis=1)
    values = np.where(known > 0, held @ (layer.values / lengths), np.nan)
    made = _partly(known, closes - opens)
    long = (held[:, lengths > LONGEST_RAIN_S] > 0).any(axis=1)
    made[long] |= ESTIMATED
    return OfDays(values, made)


def _extremes(layer: Layer, days: LocalDays, *, at_end: bool) -> OfDays:
    """Lowest by the interval's end, or highest by its midpoint."""
    values = np.full(days.count, np.nan)
    for begin, end, value in zip(layer.begins, layer.ends, layer.values, strict=True):
        for instant in _moments(float(begin), float(end), at_end=at_end):
            if not days.edges[0] <= instant < days.edges[-1]:
                continue
            day = (local_day(instant, days.zone) - days.start).days
            values[day] = np.fmin(values[day], value) if at_end else np.fmax(values[day], value)
    return OfDays(values, np.zeros(days.count, np.uint8))


def _moments(begin: float, end: float, *, at_end: bool) -> list[float]:
    """The moment that decides the day; of merged equal neighbours one each, 24 h apart."""
    merged = max(1, int(-(-(end - begin) // DAY_S)))
    length = end - begin - (merged - 1) * DAY_S
    # An interval that ends at midnight is of the day before, hence the second less.
    first = begin + length - SLACK_S if at_end else begin + length / 2
    return [first + index * DAY_S for index in range(min(merged, 40))]


def _partly(known: Seconds, whole: Seconds) -> NDArray[np.uint8]:
    """Mark windows of which something is known, but not all."""
    partly = (known > 0) & (known < whole - SLACK_S)
    return np.where(partly, PARTIAL, 0).astype(np.uint8)
