"""The days of each place as the rules take them, put together from every source that has them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.season.values import DailyWeather
from rootbound_service.weather.day import QUANTITY_NAMES, VITAL
from rootbound_service.weather.fill.compose import Composed, Gaps, SourceDays, compose
from rootbound_service.weather.fill.draft import NO_SOURCE, VITAL_ROWS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.normals_shelf import NormalsShelf
    from rootbound_service.weather.places import Place

__all__ = ["AT_ONCE", "Gaps", "PlaceDays", "series_of"]

DIGITS = 4
AT_ONCE = 200
"""Places put together in one go, so that memory does not grow with their number."""

Rain = Mapping[str, Mapping[date, float]]


@dataclass(frozen=True, slots=True, eq=False)
class PlaceDays:
    """What is known of one place: its days, and where each value comes from."""

    place: Place
    weather: DailyWeather
    elevation_m: float
    composed: Composed
    index: int
    """Position of the place in ``composed``."""

    @property
    def patched(self) -> Gaps:
        """How much of the last two known weeks is missing or filled in."""
        return self.composed.gaps(self.index)

    def gaps_beside(self, gauged: Collection[date]) -> Gaps:
        """The same for a field whose own gauge tells the rain of some days.

        Parameters
        ----------
        gauged
            Those days.
        """
        return self.composed.gaps(self.index, gauged)

    @property
    def names(self) -> str:
        """Names of the sources behind the last two weeks' vital values, the preferred first."""
        return " and ".join(self._used)

    @property
    def leans(self) -> bool:
        """Whether the last two weeks rest on more than the place's own source."""
        return self._used != self.composed.names[:1]

    @property
    def _used(self) -> tuple[str, ...]:
        days = self.composed.recent_of(self.index)
        ranks: list[int] = np.unique(self.composed.source[VITAL_ROWS, self.index, days]).tolist()
        return tuple(self.composed.names[rank] for rank in ranks if rank != NO_SOURCE)

    @property
    def words(self) -> str:
        """Where the last weeks' values come from, for a person."""
        return self.composed.summary(self.index)


def series_of(
    feeds: Mapping[str, Feed],
    places: Sequence[Place],
    start: date,
    end: date,
    normals: NormalsShelf,
    expected_rain: Rain,
    failed: Callable[[Place, Exception], None],
) -> Iterator[PlaceDays]:
    """Put the days of the places together.

    Parameters
    ----------
    feeds
        The sources.
    places
        Each once.
    start, end
        First and last day.
    normals
        What is usual in each cell, for the last resort.
    expected_rain
        By place key and day: rain that was forecast for a day past, for those days alone
        of which no source has rain. [mm]
    failed
        Told of each place that could not be read, and why; the others go on.

    Yields
    ------
    PlaceDays
        One a place for which some source has a day, in no particular order.
    """
    groups: dict[tuple[str, ...], list[Place]] = {}
    for place in places:
        groups.setdefault(place.sources, []).append(place)
    for members in groups.values():
        for first in range(0, len(members), AT_ONCE):
            some = members[first : first + AT_ONCE]
            span = (start, end, normals, expected_rain)
            found: list[PlaceDays] = []
            try:
                found = _together(feeds, some, *span)
            except Exception:  # noqa: BLE001  whose fault it is shows one by one
                for place in some:
                    try:
                        found += _together(feeds, [place], *span)
                    except Exception as error:  # noqa: BLE001  one place never stops the others
                        failed(place, error)
            yield from found


def _together(
    feeds: Mapping[str, Feed],
    places: Sequence[Place],
    start: date,
    end: date,
    normals: NormalsShelf,
    expected_rain: Rain,
) -> list[PlaceDays]:
    """Put together places that have the same sources."""
    sources: list[SourceDays] = []
    height = np.full(len(places), np.nan)
    for rank, name in enumerate(places[0].sources):
        cells = [place.cells[rank] for place in places]
        once = list(dict.fromkeys(cells))
        where = np.array([once.index(cell) for cell in cells])
        days = feeds[name].store.read(once, start, end, QUANTITY_NAMES)
        sources.append(
            SourceDays(
                feeds[name].source.title,
                days.values[:, where],
                days.flags[:, where],
                days.status[:, where],
                start,
            )
        )
        known = feeds[name].store.elevations(once)[where]
        height = np.where(np.isnan(height), known, height)
    height = np.nan_to_num(height)
    own = [place.cell for place in places]
    composed = compose(
        sources,
        elevation_m=height,
        lat=np.array([cell.lat for cell in own]),
        normals=normals.of(feeds[places[0].cell.source], own, end.year),
        forecast_rain=_expected(places, start, end, expected_rain),
    )
    every = [
        PlaceDays(place, _weather(composed, index, start), float(height[index]), composed, index)
        for index, place in enumerate(places)
    ]
    return [one for one in every if one.weather.known_through() is not None]


def _weather(composed: Composed, index: int, start: date) -> DailyWeather:
    """One place's days; a further quantity without any value is left out."""
    columns: dict[str, NDArray[np.float64] | None] = {}
    for row, name in enumerate(QUANTITY_NAMES):
        values = composed.values[row, index].round(DIGITS)  # as evidence keeps them
        columns[name] = None if name not in VITAL and np.isnan(values).all() else values
    return DailyWeather(start, **columns)  # type: ignore[arg-type]  # VITAL are never None


def _expected(
    places: Sequence[Place], start: date, end: date, rain: Rain
) -> NDArray[np.float64] | None:
    """Rain once forecast for days past, shape (place, day), NaN elsewhere. [mm]"""
    if not any(place.key in rain for place in places):
        return None
    table = np.full((len(places), (end - start).days + 1), np.nan)
    for row, place in enumerate(places):
        for day, amount in rain.get(place.key, {}).items():
            if start <= day <= end:
                table[row, (day - start).days] = amount
    return table
