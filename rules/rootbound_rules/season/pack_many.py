"""Many fields laid out at once for a night: the same numbers as ``season.pack``, by columns."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.season.layout import BLOCK, P
from rootbound_rules.season.members import draw_rows, points_of, share_out_many
from rootbound_rules.season.outlook import days_of, irrigation_of, plan_within
from rootbound_rules.season.pack import (
    counted_shares,
    dig_table,
    field_row,
    known_days,
    padded,
    same_day,
)
from rootbound_rules.season.plan import hybrid_key, is_held, of_hybrid, plan_digs
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.plan import DigPlan, OfHybrid, Plan
    from rootbound_rules.season.values import FieldSeason

    Single = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One field of a night, as ``season.outlook.look_out`` would take it."""

    season: FieldSeason
    demand: Demand
    """The field's own days: its cell's, or those with its gauge and its irrigation."""
    known_through: date
    seed: int
    years: tuple[int, ...]
    coming: ComingDays | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """A case with its plan and its digs."""

    case: Case
    plan: Plan
    digs: list[DigPlan]

    @property
    def known(self) -> int:
        """How many of the simulated days have real weather."""
        return known_days(self.plan.first, self.case.known_through, days_of(self.plan))


def planned_of(case: Case, hybrids: dict[object, OfHybrid]) -> Planned:
    """Plan one case.

    Parameters
    ----------
    case
        The field.
    hybrids
        What was worked out for fields before it; filled.

    Raises
    ------
    RulesError
        As ``season.outlook.look_out``.
    """
    if not case.years:
        raise RulesError("the cell has no past year of weather: no outlook yet")
    if case.coming is not None and case.coming.start != case.known_through + timedelta(days=1):
        raise RulesError(f"the forecast begins on {case.coming.start}, a gap or an overlap")
    key = hybrid_key(case.season)
    if key not in hybrids:
        hybrids[key] = of_hybrid(case.season)
    plan = plan_within(case.season, case.demand, hybrids[key])
    return Planned(case, plan, plan_digs(case.season, plan.first))


def alike(planned: Sequence[Planned]) -> list[list[int]]:
    """Group positions of fields that one call of the compiled night can take.

    Parameters
    ----------
    planned
        The fields.
    """
    groups: defaultdict[tuple[int, ...], list[int]] = defaultdict(list)
    for at, one in enumerate(planned):
        coming = (
            (0, 0) if one.case.coming is None else (one.case.coming.traces, one.case.coming.days)
        )
        groups[len(one.case.years), days_of(one.plan), len(one.case.demand), *coming].append(at)
    return list(groups.values())


def pack_many(some: Sequence[Planned], night: date) -> tuple[tuple[NDArray[np.generic], ...], ...]:
    """Lay fields out that are alike, see :func:`alike`.

    Parameters
    ----------
    some
        The fields, neighbours beside each other.
    night
        The night of the run.

    Returns
    -------
    tuple of tuple of ndarray
        ``fields``, ``sky`` and ``coming`` of ``season.night.night``.
    """
    members, days = len(some[0].case.years), days_of(some[0].plan)
    seeds = np.array([one.case.seed for one in some])
    points = points_of(members, seeds)
    digs = max(1, *(len(one.digs) for one in some))
    fields = (
        np.stack([field_row(one.plan) for one in some]),
        _params(some, points),
        np.stack([dig_table(one.digs, one.plan.class0, digs) for one in some]),
        _counts(some, points[:, :, 6], digs),
        _irrigation(some, days),
        np.array([one.plan.plant_day for one in some]),
        np.array([is_held(one.digs, one.plan.class0) for one in some]),
        np.array([(night - one.plan.first).days for one in some]),
        np.array([_heats(one.plan) for one in some]),
    )
    return fields, _sky(some), _coming(some, members, seeds)


def _in_blocks(values: NDArray[np.float64], rows: int) -> Single:
    """Shape (fields, rows, members) as the kernel has it: (fields, blocks, rows * 32)."""
    order = padded(values.shape[-1])
    split = values[..., order].reshape(len(values), rows, -1, BLOCK).transpose(0, 2, 1, 3)
    return np.ascontiguousarray(split, np.float32).reshape(len(values), -1, rows * BLOCK)


def _params(some: Sequence[Planned], points: NDArray[np.float64]) -> Single:
    """The draws, crop by crop."""
    rows = np.empty((len(some), len(P), points.shape[1]))
    crops = np.array([one.case.season.crop for one in some])
    for crop in np.unique(crops):
        mine: list[int] = np.flatnonzero(crops == crop).tolist()
        rows[mine] = draw_rows([some[i].case.season.soil for i in mine], points[mine], str(crop))
    return _in_blocks(rows, len(P))


def _counts(some: Sequence[Planned], quantiles: NDArray[np.float64], digs: int) -> Single:
    """Shares crossed by the digs that counted roots, 1 elsewhere."""
    shares = [
        counted_shares(one.case.season, one.digs, digs, own)
        for one, own in zip(some, quantiles, strict=True)
    ]
    return _in_blocks(np.stack(shares), digs)


def _irrigation(some: Sequence[Planned], days: int) -> Single:
    """Water given so far; one row of none where nobody gave any."""
    if not any(one.case.demand.irrigation_mm.any() for one in some):
        return np.zeros((1, days), np.float32)
    return np.stack(
        [
            irrigation_of(one.case.demand, one.plan.first, one.case.known_through, days)
            for one in some
        ]
    )


def _heats(plan: Plan) -> tuple[float, float]:
    """Heat units of silk, and of the collar from which on the reach is looked back at."""
    collar = load_table("ladder").number("grown_free.from_collar")
    return plan.stages.silk, plan.stages.at_collar(collar)


def _sky(some: Sequence[Planned]) -> tuple[NDArray[np.generic], ...]:
    """Each cell's days once, and where each field's begin in them."""
    place = dict[int, int]()
    demands: list[Demand] = []
    for one in some:
        if id(one.case.demand) not in place:
            place[id(one.case.demand)] = len(demands)
            demands.append(one.case.demand)
    skies = np.empty((len(demands), len(demands[0]), 4))
    for sky, demand in zip(skies, demands, strict=True):
        for row, values in enumerate((demand.rain_mm, demand.et0_mm, demand.gdd_f, demand.climate)):
            sky[:, row] = values
    begins = dict[object, list[int]]()
    return (
        skies,
        np.array([place[id(one.case.demand)] for one in some]),
        np.array([one.case.demand.index(one.plan.first) for one in some]),
        np.array([one.known for one in some]),
        np.array([_begins(one, begins) for one in some]),
    )


def _begins(one: Planned, seen: dict[object, list[int]]) -> list[int]:
    """Where each member's past year goes on after the known days."""
    next_day, season_year = one.plan.first + timedelta(days=one.known), one.plan.planted.year
    key = (next_day, season_year, one.case.demand.start, one.case.years)
    if key not in seen:
        seen[key] = [
            one.case.demand.index(same_day(next_day, season_year, year)) for year in one.case.years
        ]
    return seen[key]


def _coming(
    some: Sequence[Planned], members: int, seeds: NDArray[np.int64]
) -> tuple[NDArray[np.generic], ...]:
    """Each forecast once, and the trace that each member takes."""
    skip = np.array([max((one.plan.first - one.case.known_through).days - 1, 0) for one in some])
    first = some[0].case.coming
    if first is None:
        none = np.zeros(len(some), np.int64)
        return np.zeros((1, 1, 0, 4)), none, np.zeros((len(some), members), np.int64), 0 * skip
    place = dict[int, int]()
    traces: list[NDArray[np.float64]] = []
    for one in some:
        told = one.case.coming
        if told is not None and id(told) not in place:
            place[id(told)] = len(traces)
            traces.append(np.stack([told.rain_mm, told.et0_mm, told.gdd_f, told.climate], axis=-1))
    which = np.array([place[id(one.case.coming)] for one in some])
    return np.stack(traces), which, share_out_many(first.traces, members, seeds), skip
