"""Puts one series together from all sources: each value from the first that has it, else filled.

In order: the preferred source; another source, brought to its level; a straight line across a
day or two; a formula; the climate of the day. Rain knows only sources, then what had been
forecast, then none at all, and says so. Nothing is filled before the first or after the
last day that some source knows whole, and nothing in a gap of more than a fortnight.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from rootbound_service.weather.fill.draft import (
    NO_SOURCE,
    REAL,
    ROWS,
    VITAL_ROWS,
    Draft,
    How,
    Mask,
    Table,
)
from rootbound_service.weather.fill.formula import Site, estimate
from rootbound_service.weather.fill.gaps import MOST_ESTIMATED, inside, interpolate, short_gaps
from rootbound_service.weather.fill.settle import settle
from rootbound_service.weather.fill.summary import summary
from rootbound_service.weather.fill.take import SourceDays, take
from rootbound_service.weather.normals import Normals

__all__ = ["NO_SOURCE", "Composed", "Gaps", "How", "SourceDays", "compose"]


@dataclass(frozen=True, slots=True)
class Gaps:
    """How much of a place's last two weeks, up to its last whole day, nobody measured. [d]"""

    vital_missing: int
    """Days without real temperatures and rain."""
    rain_missing: int
    """Days without real rain, whatever was put in its place."""
    rain_assumed: int
    """Days taken for dry, because nobody knows."""


@dataclass(frozen=True, slots=True, eq=False)
class Composed:
    """The series of some places, every value with its origin; shape (quantity, place, day)."""

    names: tuple[str, ...]
    start: date
    values: NDArray[np.float64]
    how: NDArray[np.uint8]
    """:class:`How`."""
    source: NDArray[np.uint8]
    """Place in ``names``; 255 where no source gave the value."""
    suspect: Mask
    """A value that a check doubts, or another source's that could not be brought to level."""
    last: NDArray[np.intp]
    """Last day that some source knows whole, by place; -1 where there is none."""
    shift: NDArray[np.int8]
    """Whether a source's rain used here falls a day earlier (-1) or later (1) than the
    preferred one's, shape (source, place)."""

    def gaps(self, place: int, gauged: Collection[date] = (), last_days: int = 14) -> Gaps:
        """Count what is not measured near the end.

        Parameters
        ----------
        place
            Position of the place.
        gauged
            Days whose rain somebody measured there, whatever the sources have.
        last_days
            How many days, the last real one being the last of them.
        """
        recent = self.recent_of(place, last_days)
        how = self.how[:, place, recent]
        days = (self.start + timedelta(days=day) for day in range(recent.start, recent.stop))
        own = np.array([day in gauged for day in days], np.bool_)
        real, rain = np.isin(how, REAL), ROWS["rain_mm"]
        real[rain] |= own
        return Gaps(
            int(np.count_nonzero(~real[VITAL_ROWS].all(axis=0))),
            int(np.count_nonzero(~real[rain])),
            int(np.count_nonzero((how[rain] == How.ASSUMED_DRY) & ~own)),
        )

    def recent_of(self, place: int, last_days: int = 14) -> slice:
        """One place's last days up to the last real one.

        Parameters
        ----------
        place
            Its position.
        last_days
            How many.
        """
        end = int(self.last[place]) + 1
        return slice(max(end - last_days, 0), end)

    def summary(self, place: int, last_days: int = 14) -> str:
        """Say where the last days' values come from, for a person.

        Parameters
        ----------
        place
            Position of the place.
        last_days
            How many days are told of.
        """
        days = self.recent_of(place, last_days)
        how, source = self.how[:, place, days], self.source[:, place, days]
        return summary(self.names, how, source, self.shift[:, place])


def compose(
    sources: Sequence[SourceDays],
    elevation_m: NDArray[np.float64],
    lat: NDArray[np.float64],
    normals: Normals | None,
    forecast_rain: Table | None,
) -> Composed:
    """Put the series together.

    Parameters
    ----------
    sources
        In order of preference, all of the same places and days.
    elevation_m, lat
        Of each place. [m, deg]
    normals
        What is usual at the places, in their order, or None.
    forecast_rain
        Rain that had been forecast for days now past, shape (place, day), NaN where none
        was; or None. [mm]

    Raises
    ------
    ValueError
        If the sources differ in places or days.
    """
    shape, start = sources[0].values.shape, sources[0].start
    if any(one.values.shape != shape or one.start != start for one in sources):
        raise ValueError("the sources must cover the same places and days")
    draft = Draft.empty(shape)
    site = Site(lat, elevation_m, start, shape[2], normals)
    shift = take(draft, sources)
    whole = draft.whole_days()
    within = inside(whole)
    interpolate(draft, within)
    estimate(draft, site, within)
    _rain(draft, within, forecast_rain)
    settle(draft, site)
    days = np.where(whole, np.arange(shape[2], dtype=np.intp), -1)
    return Composed(
        tuple(one.name for one in sources),
        start,
        draft.values,
        draft.how,
        draft.source,
        draft.suspect,
        days.max(axis=1, initial=-1),
        shift,
    )


def _rain(draft: Draft, within: Mask, forecast_rain: Table | None) -> None:
    """Rain that no source has: as it was forecast, else none, in short gaps."""
    row = ROWS["rain_mm"]
    if forecast_rain is not None:
        draft.put(row, within, forecast_rain, How.FORECAST)
    short = short_gaps(draft.real(row) | ~within, MOST_ESTIMATED)
    if short.any():
        draft.put(row, short, np.zeros(short.shape), How.ASSUMED_DRY)
