"""Play one past season again, night by night, with only what was known each night.

Each night's outlook has the season's days up to the day before, then every earlier year of the
same place as one member: no later day and no later year is seen. Rung and note are decided by
the same functions as the service's own nights.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.risk.assess import assess
from rootbound_rules.risk.ladder import Memory
from rootbound_rules.risk.ladder import decide as climb
from rootbound_rules.season.outlook import look_out, past_years
from rootbound_rules.season.trace import run_trace
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.replay.came import rain_of_season, until, what_came
from rootbound_service.replay.values import Night, Played, Said

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Assessment
    from rootbound_rules.risk.ladder import Decision
    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.values import FieldSeason

_DAY = timedelta(days=1)
FIRST_NIGHT = 14
"""Nights begin so many days after planting: nothing is up before. [d]"""
LAST_DAY = 170
"""Days after planting for which what came is computed. [d]"""
MOST_MEMBERS = 30
Forecasts = Callable[[date], "ComingDays | None"]
"""What a night knew of the coming days, by the night."""


def play(
    name: str,
    season: FieldSeason,
    demand: Demand,
    seed: int = 1,
    forecasts: Forecasts | None = None,
    members: Sequence[int] | None = None,
    late: int = 0,
) -> Played:
    """Play one season.

    Parameters
    ----------
    name
        Of the field.
    season
        The field, planted on the day of that year, with its digs.
    demand
        The place's days: earlier years, and the season to its end.
    seed
        Of the outlook's draws.
    forecasts
        What each night knew of the coming days; None: members of climatology from the night on.
    members
        Years that serve as members; None: those before the season, at most 30.
    late
        Measured weather reaches a night so many days late; 0: it has the day before. [d]

    Returns
    -------
    Played
        Nights from two weeks after planting to black layer.

    Raises
    ------
    RefusedInput
        If the weather ends before the season, or has no earlier year for an outlook.
    """
    end = _end(name, season, demand)
    years = list(members) if members is not None else past_years(demand, season, MOST_MEMBERS)
    if not years:
        what = f"has no whole year before {season.planted.year}"
        raise RefusedInput((Problem(name, what, "let the weather begin years earlier"),))
    days = run_trace(season, until(demand, end))
    nights = tuple(_nights(season, demand, years, seed, forecasts, days[-1].date, late))
    digs = sorted(season.digs, key=lambda dig: dig.dug_on)
    return Played(
        field=name,
        season=season,
        wall_class=digs[-1].wall_class if digs else None,
        nights=nights,
        free=what_came(days, "free", season.crop),
        held=what_came(days, "held", season.crop),
        stages={day.date: day.stage for day in days if day.date >= season.planted},
        rain_mm=rain_of_season(demand, season.planted.year),
    )


def _end(name: str, season: FieldSeason, demand: Demand) -> date:
    """Last day of what came."""
    end, last = season.planted + LAST_DAY * _DAY, demand.start + (len(demand) - 1) * _DAY
    if not demand.start < season.planted < end <= last:
        what = f"weather of {demand.start} to {last} does not hold the season of {season.planted}"
        raise RefusedInput((Problem(name, what, f"weather to {end} at least"),))
    return end


def _nights(
    season: FieldSeason,
    demand: Demand,
    years: list[int],
    seed: int,
    forecasts: Forecasts | None,
    last: date,
    late: int,
) -> Iterator[Night]:
    """Each night in turn, the ladder remembering the one before."""
    night = season.planted + FIRST_NIGHT * _DAY
    memory: dict[str, Memory | None] = {"free": None, "held": None}
    while night <= last:
        known = replace(season, digs=tuple(dig for dig in season.digs if dig.dug_on <= night))
        coming = None if forecasts is None else forecasts(night)
        outlook = look_out(known, demand, night - (1 + late) * _DAY, seed, years, coming=coming)
        found = assess(outlook, night)
        if found.mature:
            return
        if found.emerged:
            yield _night(found, night, memory, rated=bool(known.digs))
        night += _DAY


def _night(
    found: Assessment, night: date, memory: dict[str, Memory | None], *, rated: bool
) -> Night:
    """Decide one night of both twins; ``memory`` goes on."""
    said: dict[str, Said] = {}
    for name, reading in (("free", found.free), ("held", found.held)):
        decision = climb(reading, memory[name], night)
        water = found.free_water_mm if name == "free" else found.water_in_reach_mm
        memory[name] = _remembered(decision)
        said[name] = Said(
            rung=decision.rung,
            raw_rung=decision.raw_rung,
            chance_14=reading.chance_14,
            chance_7=reading.chance_7,
            water_mm=water,
            note=decision.rung if decision.note else None,
            reason=str(decision.reason),
        )
    return Night(
        night=night,
        stage=found.stage,
        rated=rated,
        critical=found.critical,
        free=said["free"],
        held=said["held"],
        ahead_kind=found.ahead.kind,
        ahead_median=found.ahead.median,
        ahead_low=found.ahead.low,
        ahead_high=found.ahead.high,
        reach=found.reach,
        members=found.members,
    )


def _remembered(decision: Decision) -> Memory:
    """What the ladder keeps for the next night."""
    return Memory(
        decision.rung,
        decision.nights_below,
        decision.said_rung,
        decision.nights_under_said,
        decision.changed_on,
    )
