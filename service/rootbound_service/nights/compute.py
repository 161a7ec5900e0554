"""Compute: both twins of every field, season to date and outlook. Pure functions of values."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.assess import assess
from rootbound_rules.risk.ladder import Reason
from rootbound_rules.season.demand import GAP
from rootbound_rules.season.outlook import look_out, past_years
from rootbound_rules.season.plan import make_plan
from rootbound_rules.tables import load_table
from rootbound_service.errors import ServiceError
from rootbound_service.nights.parts import CellNight, Computed
from rootbound_service.nights.seasons import season_of

if TYPE_CHECKING:
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.values import FieldSeason
    from rootbound_service.notes.facts import Status
    from rootbound_service.records import FieldRecord

MOST_GAPS = 3
"""With more missing days in the last fourteen a field is unknown, not watched."""
MOST_RAINLESS = 2
"""The same of days whose rain no source and no forecast knows."""
MOST_SEASON_GAPS = 14
"""The same of days of the whole season so far; shorter gaps have been filled by now."""
NOT_COMPUTED = "could_not_be_computed"
"""Reason of a field whose soil or season the rules refuse; the ladder knows none for it."""


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
    if season_is_over(field, night):
        return Computed(field, "finished")
    if cell is None or cell.known_through is None:
        why: str | None = trouble or "no weather is stored for its cell yet"
        return Computed(field, "unknown", cell=cell, failure=f"{field.name}: {why}")
    if (night - cell.known_through).days > stale_days:
        why = f"the last real weather is of {cell.known_through}, over {stale_days} days old"
        return Computed(field, "unknown", cell=cell, failure=f"{field.name}: {why}")
    if (why := too_patched(cell)) is not None:
        return Computed(field, "unknown", cell=cell, failure=f"{field.name}: {why}")
    try:
        return _compute(field, cell, night, fewest_years)
    except (RulesError, ServiceError) as error:
        return failed(field, str(error), cell)


def too_patched(cell: CellNight) -> str | None:
    """Say why a cell's last two weeks are too full of gaps to watch a field by, if they are.

    Parameters
    ----------
    cell
        The cell.
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
    first = max(demand.index(make_plan(season).first), 0)
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
        unknown_because=NOT_COMPUTED,
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


def _compute(field: FieldRecord, cell: CellNight, night: date, fewest_years: int) -> Computed:
    """Both twins, and what may be said of them."""
    assert cell.known_through is not None  # noqa: S101  (looked at before)
    season = season_of(field, cell.elevation_m, night)
    demand = cell.demand_of(season.crop)
    years = past_years(demand, season)
    if len(years) < fewest_years:
        has = f"{len(years)} past year{'' if len(years) == 1 else 's'}" if years else "no past year"
        why = f"its weather cell has {has} so far and needs {fewest_years}: no outlook yet"
        said = f"{field.name}: {why}"
        reason = str(Reason.NO_OUTLOOK)
        return Computed(field, "unknown", season, cell, failure=said, unknown_because=reason)
    if (gaps := season_gaps(season, demand, cell.known_through)) > MOST_SEASON_GAPS:
        why = f"{field.name}: {gaps} days of this season's weather are missing"
        return Computed(field, "unknown", season, cell, failure=why)
    outlook = look_out(season, demand, cell.known_through, seed_of(field), years)
    assessment = assess(outlook, night)
    if assessment.mature:
        return Computed(field, "finished", season, cell, assessment, outlook)
    if not assessment.emerged:
        return Computed(field, "waiting", season, cell, assessment, outlook)
    status: Status = "watched" if season.digs else "unrated"
    return Computed(field, status, season, cell, assessment, outlook)
