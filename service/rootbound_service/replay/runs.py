"""Many seasons at once: which field, which years, which findings of the spade."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from multiprocessing import get_context
from typing import TYPE_CHECKING

from rootbound_rules.crop.table import heat_limits
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.values import Dig
from rootbound_rules.tables import load_table
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.replay.play import LAST_DAY, play

if TYPE_CHECKING:
    from rootbound_rules.season.values import DailyWeather, FieldSeason
    from rootbound_service.replay.forecast_file import Issues
    from rootbound_service.replay.values import Played

DUG_AFTER = timedelta(days=27)
"""A wall class that is asked for is found so long after planting: about V4."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One season to play."""

    name: str
    season: FieldSeason


def in_year(season: FieldSeason, year: int) -> FieldSeason:
    """Put a field's season and its digs into another year, on the same days of it.

    Parameters
    ----------
    season
        As the field's file has it.
    year
        Of planting.
    """
    shift = year - season.planted.year
    digs = tuple(replace(dig, dug_on=_moved(dig.dug_on, shift)) for dig in season.digs)
    return replace(season, planted=_moved(season.planted, shift), digs=digs)


def with_class(season: FieldSeason, wall_class: int) -> FieldSeason:
    """Let the spade find one wall class, on the first dig's day or about V4.

    Parameters
    ----------
    season
        The field; its own digs are left out.
    wall_class
        What is found. [0-3]
    """
    days = [dig.dug_on for dig in season.digs]
    dug_on = min(days) if days else season.planted + DUG_AFTER
    return replace(season, digs=(Dig(dug_on, wall_class),))


def _moved(day: date, years: int) -> date:
    """The same day of another year; 29 February becomes the 28th."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def years_in(season: FieldSeason, weather: DailyWeather, fewest: int = 1) -> list[int]:
    """Years whose season lies in the weather with enough whole years before it.

    Parameters
    ----------
    season
        The field.
    weather
        Days of its place.
    fewest
        Earlier years that serve as members of the outlook.
    """
    rows = load_table("season")
    spinup = timedelta(days=int(rows.number("spinup_days")))
    longest = timedelta(days=int(rows.number("longest_days")))
    found, earlier = list[int](), 0
    for year in range(weather.start.year, weather.end.year + 1):
        planted = _moved(season.planted, year - season.planted.year)
        if earlier >= fewest and planted + timedelta(days=LAST_DAY) <= weather.end:
            found.append(year)
        earlier += planted - spinup >= weather.start and planted + longest <= weather.end
    return found


def play_all(
    asked: Sequence[Asked],
    weather: DailyWeather,
    workers: int = 1,
    issues: Issues | None = None,
    late: int = 0,
) -> Iterator[Played]:
    """Play seasons of one place, in the order asked for.

    Parameters
    ----------
    asked
        The seasons, of fields in one place.
    weather
        Days of the place.
    workers
        Processes; 1: this one.
    issues
        Forecasts as they were issued; None: the nights know earlier years only.
    late
        Measured weather reaches a night so many days late. [d]

    Raises
    ------
    RefusedInput
        If a season does not lie in the weather.
    """
    if workers == 1:
        yield from map(partial(_play, weather, issues, late), asked)
        return
    given = (weather, issues, late)
    with ProcessPoolExecutor(workers, get_context("spawn"), _begin, given) as pool:
        for found in pool.map(_try, asked, chunksize=2):
            if isinstance(found, tuple):
                raise RefusedInput(found)
            yield found


_given: list[tuple[DailyWeather, Issues | None, int]] = []
"""What a process was given when it began: sent once, not with every season."""


def _begin(weather: DailyWeather, issues: Issues | None, late: int) -> None:
    """Keep what all seasons of a process share."""
    _given[:] = [(weather, issues, late)]


def _try(asked: Asked) -> Played | tuple[Problem, ...]:
    """Play one season, or say what is wrong: a refusal does not come whole out of a process."""
    try:
        return _play(*_given[0], asked)
    except RefusedInput as refused:
        return refused.problems


def _play(weather: DailyWeather, issues: Issues | None, late: int, asked: Asked) -> Played:
    """Play one season."""
    season = asked.season
    limits = heat_limits(season.crop)
    demand = cell_demand(weather, season.lat, season.elevation_m, *limits, _loop())
    coming = None if issues is None else partial(issues.known, season, late)
    seed = seed_of(asked.name, season.planted.year)
    return play(asked.name, season, demand, seed, coming, late=late)


def seed_of(name: str, year: int) -> int:
    """Seed of a season's draws: the same on any machine.

    Parameters
    ----------
    name, year
        Of the field and its season.
    """
    return 10_007 * sum(ord(letter) for letter in name) + year


def _loop() -> Callable[..., None]:
    """The compiled loop over days."""
    from rootbound_rules.season.kernel import demand_loop

    return demand_loop
