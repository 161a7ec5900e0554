"""Brings the weather of all cells up to date; one cell's failure never stops the others."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Protocol

import numpy as np

from rootbound_service.errors import ServiceError
from rootbound_service.weather.http import WeatherUnavailable
from rootbound_service.weather.quality import check

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from rootbound_rules.season.values import Series
    from rootbound_service.weather.answers import AnswerShelf
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import WeatherSource
    from rootbound_service.weather.grid_store import GridStore
    from rootbound_service.weather.quality import Flags

REFETCH_DAYS = 45
# Provisional days are replaced by final ones up to some four months later: once a month
# the answer reaches back that far.
LONG_REFETCH_DAYS = 150


class ClearSky(Protocol):
    """Radiation under a clear sky, for the check of radiation."""

    def __call__(self, lat: float, elevation_m: float, start: date, days: int) -> Series:
        """Return one value a day. [MJ m-2 d-1]"""
        ...


@dataclass(frozen=True, slots=True)
class PullResult:
    """What came of asking for one cell."""

    cell: Cell
    start: date
    end: date
    error: str | None = None
    """A sentence for a person, or None if the weather came."""
    retry_later: bool = False
    revised: int = 0
    """Stored values that the service has changed."""
    flagged: int = 0
    """Values of this answer that are stored but not used."""
    known_through: date | None = None
    """Last stored day with both temperatures and rain."""
    copy_kept: bool = False
    """Whether the raw answer was new and is kept."""


def pull_cells(  # noqa: PLR0913 - the last two are named at every call
    cells: Iterable[Cell],
    today: date,
    store: GridStore,
    source: WeatherSource,
    answers: AnswerShelf,
    history_years: int = 30,
    *,
    clear_sky: ClearSky | None = None,
    progress: Callable[[PullResult, int, int], None] | None = None,
) -> list[PullResult]:
    """Ask for every cell once and store what came.

    Parameters
    ----------
    cells
        The cells of the fields; a cell named twice is asked once.
    today
        The day of asking; yesterday is the last day asked for.
    store, source, answers
        Where to keep the days, whom to ask, where to keep the raw answers.
    history_years
        How many whole years before this one a new cell is asked for.
    clear_sky
        For the check of radiation, else it is held to hard limits only.
    progress
        Told after each cell: its result, how many are done, how many there are.

    Returns
    -------
    list of PullResult
        One for each cell, in the order given.
    """
    wanted = list(dict.fromkeys(cells))
    results: list[PullResult] = []
    for cell in wanted:
        results.append(_pull(cell, today, store, source, answers, history_years, clear_sky))
        if progress is not None:
            progress(results[-1], len(results), len(wanted))
    return results


def span_to_ask(
    today: date,
    history_start: date,
    asked_from: date | None,
    last_day: date | None,
) -> tuple[date, date]:
    """Choose the days to ask for.

    Parameters
    ----------
    today
        The day of asking.
    history_start
        First day of the history that is wanted.
    asked_from, last_day
        What the store has: the first day ever asked for, the last known day.

    Returns
    -------
    tuple of date
        First and last day: the whole history for a cell without it, else the last 45
        days (150 on the first of a month), or all days since the last known one.
    """
    yesterday = today - timedelta(days=1)
    if asked_from is None or last_day is None or asked_from > history_start:
        return history_start, yesterday
    back = LONG_REFETCH_DAYS if today.day == 1 else REFETCH_DAYS
    recent = min(today - timedelta(days=back), last_day + timedelta(days=1))
    return max(recent, history_start), yesterday


def last_whole_day(
    start: date, columns: Mapping[str, Series], flags: Mapping[str, Flags]
) -> date | None:
    """Find the last day of an answer that has both temperatures and rain, none of them flagged.

    Parameters
    ----------
    start
        Day of element 0.
    columns, flags
        Values and their quality flags by our names.
    """
    whole = np.ones(len(columns["rain_mm"]), bool)
    for name in ("tmax_c", "tmin_c", "rain_mm"):
        whole &= ~np.isnan(columns[name]) & (flags[name] == 0)
    return start + timedelta(days=int(np.flatnonzero(whole)[-1])) if whole.any() else None


def _later(one: date | None, other: date | None) -> date | None:
    """The later of two days, either of which may be absent."""
    return max((day for day in (one, other) if day is not None), default=None)


def _pull(
    cell: Cell,
    today: date,
    store: GridStore,
    source: WeatherSource,
    answers: AnswerShelf,
    history_years: int,
    clear_sky: ClearSky | None,
) -> PullResult:
    """Ask for one cell; any failure becomes a sentence in its result."""
    begin = max(date(today.year - history_years, 1, 1), source.earliest)
    start, end = begin, today - timedelta(days=1)
    try:
        known = store.last_day(cell)
        start, end = span_to_ask(today, begin, store.asked_from(cell), known)
        answer = source.fetch(cell, start, end)
        kept = answers.keep(cell, answer)
        rso_mj = None
        if clear_sky is not None and answer.elevation_m is not None:
            days = len(answer.columns["solar_mj"])
            rso_mj = clear_sky(cell.centre[0], answer.elevation_m, start, days)
        flags = check(answer.columns, rso_mj)
        revised = store.write_days(
            cell, start, answer.columns, today, flags=flags, elevation_m=answer.elevation_m
        )
        return PullResult(
            cell,
            start,
            end,
            revised=revised,
            flagged=sum(int((marks != 0).sum()) for marks in flags.values()),
            known_through=_later(known, last_whole_day(start, answer.columns, flags)),
            copy_kept=kept is not None,
        )
    except WeatherUnavailable as error:
        return PullResult(cell, start, end, str(error), retry_later=error.retry_later)
    except ServiceError as error:
        return PullResult(cell, start, end, str(error))
    except Exception as error:  # noqa: BLE001 - one cell never stops the others
        what = f"{cell.key}: the weather could not be stored ({type(error).__name__}: {error})"
        return PullResult(cell, start, end, what)
