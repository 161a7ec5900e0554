"""What a night asks of public services: requests cut by the services' own rooms, time, bytes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, cast

from rootbound_service.desk.capacity.places import beside, laid_out
from rootbound_service.weather.day import Ask
from rootbound_service.weather.grid_days import Span
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.gridmet_names import GRID as GRIDMET
from rootbound_service.weather.sources.gridmet_names import VARIABLES
from rootbound_service.weather.sources.nasa_power import SHORT_DAYS, NasaPower
from rootbound_service.weather.sources.power_names import GRID as POWER
from rootbound_service.weather.sources.power_names import PARAMETERS
from rootbound_service.weather.spans import PIECE_YEARS, span_of_night

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from rootbound_service.desk.capacity.asked import Asked
    from rootbound_service.desk.capacity.measured import Measured
    from rootbound_service.desk.capacity.places import Lying
    from rootbound_service.public.http import Caller
    from rootbound_service.weather.cells import Cell

FIRST, USUAL = date(2026, 7, 1), date(2026, 7, 15)
"""Nights of a season; on the first of a month the asking reaches further back."""
BEGIN = date(2026, 3, 1)
NOBODY = cast("Caller", None)
"""The sources cut asks without asking anybody."""
MB = 1e6


@dataclass(frozen=True, slots=True)
class Pull:
    """What one source is asked for."""

    source: str
    title: str
    requests: int
    seconds: float
    gigabytes: float


@dataclass(frozen=True, slots=True)
class Pulls:
    """Everything that is asked for on a usual night, on the first of a month, and once."""

    usual: tuple[Pull, ...]
    first: tuple[Pull, ...]
    past: tuple[Pull, ...]
    """The past years of a new service, spread over its first nights."""


def pulls_of(asked: Asked, lying: Lying, measured: Measured) -> Pulls:
    """Work out what is asked for.

    Parameters
    ----------
    asked
        The question: how hard services may be asked, and in which way.
    lying
        Where the fields lie.
    measured
        Sizes of answers.
    """
    each_s = max(asked.manners.pause_s, measured["answer_s"])
    forecasts = _forecasts(asked, lying, measured, each_s)

    def night(today: date) -> tuple[Pull, ...]:
        found: list[Pull] = []
        for source, cells in sorted(lying.cells.items()):
            if source == GRIDMET.source:
                found.append(_gridmet(cells, today, asked, measured, each_s))
            found.append(_power(source, cells, today, asked, measured, each_s))
        return (*_merged(found), *forecasts)

    past: list[Pull] = []
    for source, cells in sorted(lying.cells.items()):
        past.append(_past(source, cells, asked, measured, each_s))
    return Pulls(night(USUAL), night(FIRST), tuple(past))


def _span(source: GridMet | NasaPower, today: date) -> tuple[date, date]:
    """Days of a cell that is asked for every night."""
    last = today - timedelta(days=source.habits.lag + 1)
    return span_of_night(today, BEGIN, source.habits, Span(BEGIN, last))


@lru_cache(maxsize=64)
def _counted(
    source: str, cells: int, today: date, *, stand_in: bool, pieces: bool = False
) -> tuple[int, int]:
    """Requests and cell days of a night of a source, as its own room cuts them."""
    room, wanted, many = _room(source, cells, stand_in=stand_in)
    start, end = _span(room, today)
    last = end
    requests = days = 0
    while start <= last:
        end = min(last, start + timedelta(days=SHORT_DAYS - 1)) if pieces else last
        more = _sum(room.split(Ask(wanted, start, end, today)), many)
        requests, days = requests + more[0], days + more[1]
        start = end + timedelta(days=1)
    return requests, days


def _room(
    source: str, cells: int, *, stand_in: bool
) -> tuple[GridMet | NasaPower, tuple[Cell, ...], Callable[[Ask], int]]:
    """A source, the cells asked for, and how many requests one of its asks makes."""
    if source == GRIDMET.source and not stand_in:
        # Every variable is a request of its own; the few that describe them are not counted.
        return GridMet(NOBODY, "http://a"), laid_out(source, cells), lambda _: len(VARIABLES)
    wanted = beside(cells) if stand_in else laid_out(source, cells)
    return (
        NasaPower(NOBODY, "http://a"),
        wanted,
        lambda ask: len(PARAMETERS) if len(ask.cells) > 1 else 1,
    )


def _sum(asks: Iterable[Ask], many: Callable[[Ask], int]) -> tuple[int, int]:
    """Requests and cell days of some asks."""
    requests = days = 0
    for ask in asks:
        requests += many(ask)
        days += len(ask.cells) * ask.days
    return requests, days


def _gridmet(cells: int, today: date, asked: Asked, measured: Measured, each_s: float) -> Pull:
    """GridMET's days: by tiles, or this year's files."""
    if asked.manners.days == "files":
        return _files(1, measured, each_s)
    requests, days = _counted(GRIDMET.source, cells, today, stand_in=False)
    size = days * len(VARIABLES) * measured["gridmet_value_bytes"]
    return Pull(GRIDMET.source, "gridMET", requests, requests * each_s, size / 1e9)


def _files(years: int, measured: Measured, each_s: float) -> Pull:
    """Yearly files of every variable; ten megabytes a second are assumed of the line."""
    many = years * len(VARIABLES)
    size = many * measured["gridmet_file_mb"] * MB
    seconds = many * each_s + size / (10 * MB)
    return Pull(GRIDMET.source, "gridMET, yearly files", many, seconds, size / 1e9)


def _power(
    source: str, cells: int, today: date, asked: Asked, measured: Measured, each_s: float
) -> Pull:
    """NASA POWER's days, its own cells or those that stand in."""
    stand_in, pieces = source == GRIDMET.source, asked.manners.pieces
    requests, days = _counted(source, cells, today, stand_in=stand_in, pieces=pieces)
    size = days * len(PARAMETERS) * measured["power_value_bytes"]
    return Pull(POWER.source, "NASA POWER", requests, requests * each_s, size / 1e9)


def _forecasts(asked: Asked, lying: Lying, measured: Measured, each_s: float) -> tuple[Pull, ...]:
    """Coming days: one request a place where the order names a service, the United States."""
    cells = lying.cells.get(GRIDMET.source, 0)
    if cells == 0:
        return ()
    if asked.manners.forecasts == "files":
        return (Pull("forecast", "forecast grids in files", 8, 8 * each_s + 60.0, 0.6),)
    size = cells * measured["forecast_answer_bytes"] / 1e9
    return (Pull("nws", "US National Weather Service", cells, cells * each_s, size),)


def _past(source: str, cells: int, asked: Asked, measured: Measured, each_s: float) -> Pull:
    """Past years: cell by cell and some years at a time, or yearly files where there are any."""
    years = asked.habits.years
    pieces = -(-years // PIECE_YEARS)
    if source != GRIDMET.source:
        size = cells * years * 365 * len(PARAMETERS) * measured["power_value_bytes"]
        many = cells * pieces
        return Pull(source, "NASA POWER", many, many * each_s, size / 1e9)
    if asked.manners.days == "files":
        return _files(years, measured, each_s)
    many = cells * pieces * len(VARIABLES)
    size = cells * years * 365 * len(VARIABLES) * measured["gridmet_value_bytes"]
    return Pull(source, "gridMET", many, many * each_s, size / 1e9)


def _merged(found: Sequence[Pull]) -> list[Pull]:
    """One line a source."""
    by_title: dict[str, Pull] = {}
    for one in found:
        old = by_title.get(one.title)
        if old is None:
            by_title[one.title] = one
            continue
        by_title[one.title] = Pull(
            one.source,
            one.title,
            old.requests + one.requests,
            old.seconds + one.seconds,
            old.gigabytes + one.gigabytes,
        )
    return list(by_title.values())


def seconds_of(pulls: Iterable[Pull]) -> float:
    """Time of some pulls, one after the other as the service makes them. [s]

    Parameters
    ----------
    pulls
        What is asked for.
    """
    return sum(one.seconds for one in pulls)
