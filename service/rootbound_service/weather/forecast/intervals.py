"""Intervals of time as ISO 8601 writes them, local days, and how much of one is in the other."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

Seconds = NDArray[np.float64]
"""Since 1970, UTC. [s]"""

DURATION = re.compile(
    r"P(?:([0-9]{1,4})D)?(?:T(?:([0-9]{1,6})H)?(?:([0-9]{1,6})M)?(?:([0-9]{1,6})S)?)?"
)
DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Interval:
    """From an instant up to another, seconds since 1970."""

    begin: float
    end: float

    @property
    def seconds(self) -> float:
        """Its length. [s]"""
        return self.end - self.begin


def read_interval(text: str) -> Interval:
    """Read an instant and how long from it on, such as ``2026-07-06T03:00:00+00:00/P1DT6H``.

    Parameters
    ----------
    text
        Equal neighbours come merged, so that any length may occur.

    Raises
    ------
    ValueError
        If it is no such interval, has no zone, or is empty.
    """
    begin_text, slash, length_text = text.partition("/")
    match = DURATION.fullmatch(length_text)
    if not slash or match is None:
        message = f"{text[:60]!r} is no interval"
        raise ValueError(message)
    days, hours, minutes, seconds = (int(part or 0) for part in match.groups())
    length = timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds).total_seconds()
    if length <= 0:
        message = f"{text[:60]!r} is an empty interval"
        raise ValueError(message)
    begin = read_instant(begin_text).timestamp()
    return Interval(begin, begin + length)


def read_instant(text: str) -> datetime:
    """Read an instant that says its zone, as UTC.

    Parameters
    ----------
    text
        Such as ``2026-07-06T09:12:44+00:00``.

    Raises
    ------
    ValueError
        If it is none, or says no zone.
    """
    try:
        instant = datetime.fromisoformat(text)
        if instant.tzinfo is None:
            message = f"{text[:40]!r} says no zone"
            raise ValueError(message)
        return instant.astimezone(UTC)
    except OverflowError as error:
        message = f"{text[:40]!r} is at the end of time"
        raise ValueError(message) from error


def day_edges(start: date, days: int, zone: ZoneInfo) -> Seconds:
    """Give the first moments of local days, and the last day's end; 23 to 25 hours apart.

    Parameters
    ----------
    start, days
        The first local day, and how many.
    zone
        Whose midnight counts. Where the clocks skip it, the day begins where they skip to.
    """
    dates = (start + timedelta(days=index) for index in range(days + 1))
    midnights = (datetime(day.year, day.month, day.day, tzinfo=zone) for day in dates)
    return np.array([midnight.timestamp() for midnight in midnights])


def local_day(instant_s: float, zone: ZoneInfo) -> date:
    """Local day of an instant.

    Parameters
    ----------
    instant_s
        Since 1970, UTC. [s]
    zone
        Where.
    """
    return datetime.fromtimestamp(instant_s, tz=UTC).astimezone(zone).date()


def overlap(begins: Seconds, ends: Seconds, opens: Seconds, closes: Seconds) -> Seconds:
    """Measure how long each interval runs within each window. [s]

    Parameters
    ----------
    begins, ends
        Of the intervals, shape (interval,).
    opens, closes
        Of the windows, shape (window,).

    Returns
    -------
    NDArray
        Shape (window, interval), nothing below 0.
    """
    within = np.minimum(ends, closes[:, None]) - np.maximum(begins, opens[:, None])
    return np.asarray(np.maximum(within, 0.0), dtype=np.float64)
