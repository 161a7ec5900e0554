"""Seasons of the service's own store, played again by the very functions of its nights.

Nothing is asked of any source and nothing is stored. Each night has the forecasts that were
kept by then and measured weather through the day that it had; its figures are those that the
store has now, corrections included.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.season.observed import with_observed
from rootbound_rules.season.trace import run_trace
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.nights.compute import compute
from rootbound_service.nights.decide import both_twins, decide
from rootbound_service.nights.gather import gather
from rootbound_service.nights.observed import observed_of
from rootbound_service.nights.remembered import remembered
from rootbound_service.nights.seasons import season_of
from rootbound_service.replay.came import rain_of_season, until, what_came
from rootbound_service.replay.known import as_known, known_on
from rootbound_service.replay.play import FIRST_NIGHT, LAST_DAY
from rootbound_service.replay.values import Night, Played, Said
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.fields import find_field
from rootbound_service.store.risk import risk_history
from rootbound_service.store.schema import field as fields_table

if TYPE_CHECKING:
    from rootbound_rules.risk.ladder import Decision
    from rootbound_rules.risk.rungs import Reading
    from rootbound_service.nights.parts import Computed, Gathered
    from rootbound_service.records import FieldRecord, RiskRecord
    from rootbound_service.wiring import Parts

_DAY = timedelta(days=1)
ON_LADDER = ("watched", "unrated")


@dataclass(slots=True)
class Walk:
    """One field on its way through its nights."""

    record: FieldRecord
    rows: Sequence[RiskRecord] = ()
    """Of the nights that were lived: they tell how late weather came."""
    before: RiskRecord | None = None
    """The row of the night before, as this walk decided it."""
    nights: list[Night] = field(default_factory=list[Night])
    unknown: int = 0
    """Nights on which nothing could be said."""
    over: bool = False


def stored_fields(
    parts: Parts, names: Sequence[str], year: int | None, today: date
) -> list[FieldRecord]:
    """Find the seasons that are asked for.

    Parameters
    ----------
    parts
        The wired service.
    names
        Names or numbers of fields; empty: all fields.
    year
        Of planting; None: each field's latest season.
    today
        Seasons planted after it are none yet.

    Raises
    ------
    RefusedInput
        If a field is not known, or none of them has such a season.
    """
    on = today if year is None else min(date(year, 12, 31), today)
    with parts.engine.connect() as conn:
        ids = [find_field(conn, name).id for name in names]
        which = (fields_table.c.id.in_(ids),) if names else ()
        every = load_fields(conn, *which, on=on)
    found = [one for one in every if one.planted <= on and year in {None, one.planted.year}]
    if not found:
        when = "" if year is None else f" of {year}"
        what = f"have no season{when} that was planted by {on}"
        wanted = "see rootbound fields for those that are enrolled"
        raise RefusedInput((Problem("the fields", what, wanted),))
    return found


def play_stored(
    parts: Parts, records: Sequence[FieldRecord], today: date, tick: Callable[[], None]
) -> Iterator[tuple[Played, int]]:
    """Play stored seasons of one year, all fields night by night.

    Parameters
    ----------
    parts
        The wired service.
    records
        The fields with their seasons.
    today
        The last night that has come.
    tick
        Called after each night.

    Yields
    ------
    tuple
        A season, and on how many of its nights nothing could be said. A season that is not
        over yet is played to today.
    """
    with parts.engine.connect() as conn:
        walks = {one.id: Walk(one, risk_history(conn, one.season_id)) for one in records}
    night, last = span(records, today)
    while night <= last:
        open_ids = [one for one, walk in walks.items() if _is_open(walk, night)]
        if open_ids:
            found = gather(
                parts, night, pull=False, past=False, which=(fields_table.c.id.in_(open_ids),)
            )
            for record in found.fields:
                _step(parts, walks[record.id], record, found)
        tick()
        night += _DAY
    for walk in walks.values():
        yield _played(parts, walk, today), walk.unknown


def span(records: Sequence[FieldRecord], today: date) -> tuple[date, date]:
    """Give the first and the last night of some seasons.

    Parameters
    ----------
    records
        The fields with their seasons.
    today
        No later night has come.
    """
    first = min(one.planted for one in records) + FIRST_NIGHT * _DAY
    last = max(one.planted for one in records) + LAST_DAY * _DAY
    return first, min(last, today)


def _is_open(walk: Walk, night: date) -> bool:
    """Tell whether a field has this night."""
    since = (night - walk.record.planted).days
    return not walk.over and FIRST_NIGHT <= since <= LAST_DAY


def _step(parts: Parts, walk: Walk, record: FieldRecord, found: Gathered) -> None:
    """One field's night, computed and decided as the service does."""
    key, night = found.cell_of[record.id], found.night
    cell, through = found.cells.get(key), known_on(walk.rows, night)
    if cell is not None and through is not None:
        cell = as_known(parts, cell, night, through)
    stale, trouble = parts.settings.weather_stale_days, found.troubles.get(key)
    computed = compute(record, cell, night, stale, trouble, found.fewest_years)
    decided = decide(computed, walk.before, night)
    now = decided.computed
    if now.status in ON_LADDER:
        shown, free = both_twins(now, remembered(walk.before), night)
        walk.nights.append(_night(now, shown, free, night))
    walk.unknown += now.status == "unknown"
    walk.over = now.status == "finished"
    walk.before = decided.risk


def _night(computed: Computed, shown: Decision, free: Decision, night: date) -> Night:
    """What one night said; free roots are told of only where nobody dug."""
    a = computed.assessment
    if a is None:
        raise ValueError(f"{computed.field.name} is on the ladder without an assessment")
    rated = computed.status == "watched"
    told = _said(shown, a.held if rated else a.free, a.water_in_reach_mm, told=True)
    beside = _said(free, a.free, a.free_water_mm, told=False)
    return Night(
        night, a.stage, rated, a.critical, beside if rated else told, told, a.ahead.kind,
        a.ahead.median, a.ahead.low, a.ahead.high, a.reach, a.members,
    )  # fmt: skip


def _said(decision: Decision, reading: Reading, water_mm: float, *, told: bool) -> Said:
    """What one twin was said to be."""
    note = decision.rung if told and decision.note else None
    chances = (reading.chance_14, reading.chance_7)
    return Said(
        decision.rung, decision.raw_rung, *chances, water_mm, note, str(decision.reason)
    )  # fmt: skip


def _played(parts: Parts, walk: Walk, today: date) -> Played:
    """Hold a walk against the season as the store knows it now."""
    record = walk.record
    last = min(today, record.planted + (LAST_DAY + 1) * _DAY)
    found = gather(parts, last, pull=False, past=False, which=(fields_table.c.id == record.id,))
    cell = found.cells.get(found.cell_of[record.id])
    if cell is None or cell.known_through is None or cell.known_through <= record.planted:
        what = "has no stored weather of its season"
        raise RefusedInput((Problem(record.name, what, "see rootbound weather status"),))
    season = season_of(record, cell.elevation_m, last)
    seen = observed_of(record.observations, last)
    demand = with_observed(cell.demand_of(season.crop), seen.rain_mm, seen.irrigation_mm)
    days = run_trace(season, until(demand, cell.known_through))
    digs = sorted(season.digs, key=lambda dig: dig.dug_on)
    return Played(
        field=record.name,
        season=season,
        wall_class=digs[-1].wall_class if digs else None,
        nights=tuple(walk.nights),
        free=what_came(days, "free", season.crop),
        held=what_came(days, "held", season.crop),
        stages={day.date: day.stage for day in days if day.date >= season.planted},
        rain_mm=rain_of_season(demand, season.planted.year),
    )
