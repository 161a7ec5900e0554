"""Compute: both twins of every field, season to date and outlook. Pure functions of values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.assess import assess
from rootbound_rules.risk.rungs import Reason
from rootbound_rules.season.belief import believe
from rootbound_rules.season.demand import GAP
from rootbound_rules.season.observed import with_observed
from rootbound_rules.season.outlook import look_out, past_years
from rootbound_rules.season.plan import first_day
from rootbound_rules.tables import load_table
from rootbound_service.errors import ServiceError
from rootbound_service.nights.observed import observed_of
from rootbound_service.nights.parts import CellNight, Computed
from rootbound_service.nights.seasons import season_of

if TYPE_CHECKING:
    from rootbound_rules.risk.assess import Figures
    from rootbound_rules.season.belief import Belief, Report
    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.values import FieldSeason
    from rootbound_service.nights.observed import Observed
    from rootbound_service.notes.facts import Status
    from rootbound_service.records import FieldRecord

MOST_GAPS = 3
"""With more missing days in the last fourteen a field is unknown, not watched."""
MOST_RAINLESS = 2
"""The same of days whose rain no source and no forecast knows."""
MOST_SEASON_GAPS = 14
"""The same of days of the whole season so far; shorter gaps have been filled by now."""


def compute(
    field: FieldRecord,
    cell: CellNight | None,
    night: date,
    stale_days: int,
    trouble: str | None,
    fewest_years: int = 1,
) -> Computed:
    """Compute one field.

    Parameters
    ----------
    field
        The stored field, its season and digs.
    cell
        Its weather cell; None if nothing is stored of it yet.
    night
        The night.
    stale_days
        Weather older than this makes the field unknown. [days]
    trouble
        Why the cell's weather did not come tonight, if it did not.
    fewest_years
        Past years that an outlook needs.

    Returns
    -------
    Computed
        Never raises for one field's sake: a failure is told in it.
    """
    ready = make_ready(field, cell, night, stale_days, trouble, fewest_years)
    if isinstance(ready, Computed):
        return ready
    try:
        return _compute(ready, night)
    except (RulesError, ServiceError) as error:
        return failed(field, str(error), cell)


@dataclass(frozen=True, slots=True, eq=False)
class Ready:
    """A field that an outlook can be made of, with what it takes."""

    computed: Computed
    """Unknown as yet, with its season, cell and what was observed."""
    season: FieldSeason
    demand: Demand
    """Its own days: the cell's, or those with its gauge and its irrigation."""
    known_through: date
    coming: ComingDays | None
    years: tuple[int, ...]


def make_ready(
    field: FieldRecord,
    cell: CellNight | None,
    night: date,
    stale_days: int,
    trouble: str | None,
    fewest_years: int = 1,
) -> Ready | Computed:
    """Look whether a field can be computed, and lay out what it takes.

    Parameters
    ----------
    field, cell, night, stale_days, trouble, fewest_years
        As for :func:`compute`.

    Returns
    -------
    Ready or Computed
        The latter where nothing is to be computed: the season is over, or nothing can be said.
    """
    seen = observed_of(field.observations, night)
    if cell is not None and seen.rain_mm:
        cell = replace(cell, gauged=frozenset(seen.rain_mm))
    if season_is_over(field, night) or seen.harvested is not None:  # whatever the weather
        return Computed(field, "finished", cell=cell, observed=seen)
    if cell is None or cell.known_through is None:
        why: str | None = trouble or "no weather is stored for its cell yet"
        return Computed(field, "unknown", cell=cell, failure=f"{field.name}: {why}")
    if (night - cell.known_through).days > stale_days:
        why = f"the last real weather is of {cell.known_through}, over {stale_days} days old"
        return Computed(field, "unknown", cell=cell, failure=f"{field.name}: {why}")
    if (why := too_patched(cell)) is not None:
        return _patchy(Computed(field, "unknown", cell=cell), why)
    try:
        return _ready(field, cell, seen, night, fewest_years)
    except (RulesError, ServiceError) as error:
        return failed(field, str(error), cell)


def too_patched(cell: CellNight) -> str | None:
    """Say why a cell's last two weeks are too full of gaps to watch a field by, if they are.

    Parameters
    ----------
    cell
        The cell; days of a field's own gauge are no days without rain for that field.
    """
    patched = cell.patched
    if patched.vital_missing > MOST_GAPS:
        return f"{patched.vital_missing} of the last 14 days of weather are missing"
    if patched.rain_missing > MOST_RAINLESS:
        return f"rain of {patched.rain_missing} of the last 14 days is not known"
    return None


def season_gaps(season: FieldSeason, demand: Demand, known_through: date) -> int:
    """Count the missing days of a season so far, its spin-up included.

    Parameters
    ----------
    season
        The season.
    demand
        The cell's days.
    known_through
        Last known day.
    """
    first = max(demand.index(first_day(season)), 0)
    days = demand.made[first : demand.index(known_through) + 1]
    return int(np.count_nonzero(days & GAP))


def failed(field: FieldRecord, why: str, cell: CellNight | None = None) -> Computed:
    """Give a field that could not be computed.

    Parameters
    ----------
    field
        The field.
    why
        What stood in the way, for the operator.
    cell
        Its weather cell, where there is one.
    """
    return Computed(
        field,
        "unknown",
        cell=cell,
        failure=f"{field.name}: {why}",
        unknown_because=str(Reason.NOT_COMPUTED),
    )


def season_is_over(field: FieldRecord, night: date) -> bool:
    """Tell whether a night lies after the longest season: nothing is left to compute.

    Parameters
    ----------
    field
        The field.
    night
        The night.
    """
    return (night - field.planted).days >= int(load_table("season").number("longest_days"))


def seed_of(field: FieldRecord) -> int:
    """Seed of a field's draws: the same for the whole season, on any machine."""
    return 10_007 * field.id + field.planted.year


def _patchy(computed: Computed, why: str) -> Computed:
    """A field of whose weather too many days are missing."""
    reason = str(Reason.WEATHER_PATCHY)
    return replace(computed, failure=f"{computed.field.name}: {why}", unknown_because=reason)


def _ready(
    field: FieldRecord, cell: CellNight, seen: Observed, night: date, fewest_years: int
) -> Ready | Computed:
    """Season, days and past years of a field that has weather."""
    assert cell.known_through is not None  # noqa: S101  (looked at before)
    season = season_of(field, cell.elevation_m, night)
    demand = with_observed(cell.demand_of(season.crop), seen.rain_mm, seen.irrigation_mm)
    computed = Computed(field, "unknown", season, cell, observed=seen)
    years = past_years(demand, season)
    if len(years) < fewest_years:
        has = f"{len(years)} past year{'' if len(years) == 1 else 's'}" if years else "no past year"
        why = f"its weather cell has {has} so far and needs {fewest_years}: no outlook yet"
        reason = str(Reason.NO_OUTLOOK)
        return replace(computed, failure=f"{field.name}: {why}", unknown_because=reason)
    if (gaps := season_gaps(season, demand, cell.known_through)) > MOST_SEASON_GAPS:
        return _patchy(computed, f"{gaps} days of this season's weather are missing")
    coming = cell.coming_of(season.crop)
    return Ready(computed, season, demand, cell.known_through, coming, tuple(years))


def _compute(ready: Ready, night: date) -> Computed:
    """Both twins, and what may be said of them."""
    seed, years = seed_of(ready.computed.field), list(ready.years)
    known, reports = ready.known_through, ready.computed.observed
    given = (ready.season, ready.demand, known, seed)
    belief = believed(*given, reports.reports if reports else (), years)
    points = belief.points if belief else None
    outlook = look_out(*given, years, coming=ready.coming, points=points)
    assessment = assess(outlook, night)
    status = status_of(assessment, ready.season)
    return replace(
        ready.computed, outlook=outlook, belief=belief, assessment=assessment, status=status
    )


def believed(
    season: FieldSeason,
    demand: Demand,
    known_through: date,
    seed: int,
    reports: tuple[Report, ...],
    years: list[int],
) -> Belief | None:
    """Weigh the members by what people reported of the leaves; None where nobody did.

    Parameters
    ----------
    season, demand, known_through, seed, years
        As for the outlook.
    reports
        Of the field, by the night.
    """
    if not reports:
        return None
    return believe(season, demand, known_through, seed, reports, len(years), years)


def status_of(figures: Figures, season: FieldSeason) -> Status:
    """Status of a field that has an outlook; a harvest is looked at when deciding.

    Parameters
    ----------
    figures
        What the outlook said.
    season
        The field's, with the digs that count.
    """
    if figures.mature:
        return "finished"
    if not figures.emerged:
        return "waiting"
    return "watched" if season.digs else "unrated"
