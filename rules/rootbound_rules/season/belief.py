"""What reports of rolled leaves make of an outlook's members: a particle filter.

Many draws of what is uncertain are run through the known days; each report weighs them by
how likely it is under the draw's own stress of that day; a few draws that stand for the
weighted ones become the members of the outlook, each with its past year as before, so that
no past year is ever thinned out by what somebody saw this summer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.season.believed import Moved, moved_of
from rootbound_rules.season.members import sobol_points
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.weighing import (
    chance_rolled,
    effective,
    resampled,
    tempering,
    weights_of,
)
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.values import FieldSeason

CROPS = ("maize",)
"""The sources on rolling leaves are about maize."""
PAST_DAYS = 7


class Unused(StrEnum):
    """Why a report did not weigh the draws."""

    OTHER_CROP = "what rolled leaves of this crop say has no source"
    NOT_KNOWN_YET = "the weather of that day is not known yet: it counts as soon as it is"
    BEFORE_COUNTED = "before V8 a dip is the seedling's small root zone and is not counted"
    MATURE = "the crop had reached black layer"


@dataclass(frozen=True, slots=True, order=True)
class Report:
    """Somebody looked at the crop as it stands at noon."""

    day: date
    rolled: bool


@dataclass(frozen=True, slots=True)
class Used:
    """A report that weighed the draws."""

    report: Report
    expected: float
    """Chance of rolled leaves that day before any report was heard. [0-1]"""
    counts: float
    """Share of a whole report it counts for, after tempering. [0-1]"""


@dataclass(frozen=True, slots=True)
class Ignored:
    """A report that did not."""

    report: Report
    why: Unused


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """The members to run an outlook with, and how belief moved to get there."""

    points: NDArray[np.float64]
    """Positions of the draws for ``look_out``, shape (members, 7). [0-1]"""
    effective: float
    """How many equal draws the weighted ones say as much as. [-]"""
    draws: int
    used: tuple[Used, ...]
    ignored: tuple[Ignored, ...]
    moved: tuple[Moved, ...]
    """Before and after; empty where no report was used."""

    @property
    def thin(self) -> bool:
        """Whether so few draws fit the reports that the members say little of their own."""
        return self.effective < load_table("belief").number("least_effective")

    def told(self) -> dict[str, object]:
        """Everything but the points, as JSON holds it: for whoever keeps, shows or draws it."""
        used = [
            _said(one.report) | {"expected": one.expected, "counts": one.counts}
            for one in self.used
        ]
        return {
            "effective": self.effective,
            "draws": self.draws,
            "thin": self.thin,
            "used": used,
            "ignored": [_said(one.report) | {"why": str(one.why)} for one in self.ignored],
            "moved": [one.told() for one in self.moved],
        }


def believe(
    season: FieldSeason,
    demand: Demand,
    known_through: date,
    seed: int,
    reports: Sequence[Report],
    members: int,
    years: Sequence[int],
) -> Belief:
    """Weigh the draws of a field's outlook by what people reported.

    Parameters
    ----------
    season
        The field, its soil, crop and digs so far.
    demand
        The field's own days, gauge and irrigation included.
    known_through
        Last day of real weather.
    seed
        Of the outlook; the same seed and the same reports give the same members.
    reports
        In any order; contradicting ones are all heard.
    members
        Members of the outlook.
    years
        Past years of the outlook. They only lend the draws the days to come, which no report
        is about.

    Returns
    -------
    Belief
        Without a report that can be used, the members the outlook would have anyway.

    Raises
    ------
    RulesError
        If there is no past year, no member, or no weather before planting.
    """
    if not years or members < 1:
        raise RulesError(f"{len(years)} past years and {members} members: wanted 1 or more of each")
    count = int(load_table("belief").number("draws"))
    plain = sobol_points(members, seed)
    heard = sorted(reports)
    if season.crop not in CROPS or not heard:
        none = tuple(Ignored(one, Unused.OTHER_CROP) for one in heard)
        return Belief(plain, float(count), count, (), none, ())
    points = sobol_points(count, seed)
    lent = [years[m % len(years)] for m in range(count)]
    outlook = look_out(season, demand, known_through, seed, lent, points=points)
    reasons = [_unused(one.day, outlook) for one in heard]
    ignored = tuple(Ignored(one, why) for one, why in zip(heard, reasons, strict=True) if why)
    telling = [one for one, why in zip(heard, reasons, strict=True) if why is None]
    if not telling:
        return Belief(plain, float(count), count, (), ignored, ())
    return _weighed(season, outlook, points, telling, ignored, members, seed)


def _said(report: Report) -> dict[str, object]:
    """A report as JSON holds it."""
    return {"day": report.day.isoformat(), "rolled": report.rolled}


def _unused(day: date, outlook: Outlook) -> Unused | None:
    """Why a report of a day cannot be used, if it cannot."""
    plan, t = outlook.plan, outlook.day(day)
    if day > outlook.known_through:
        return Unused.NOT_KNOWN_YET
    if t < plan.plant_day:
        return Unused.BEFORE_COUNTED
    gdd = float(outlook.gdd_f[t, 0])  # the known days are every member's
    if plan.stages.collars(gdd) < plan.stress_from:
        return Unused.BEFORE_COUNTED
    return Unused.MATURE if gdd >= plan.maturity else None


def _weighed(
    season: FieldSeason,
    outlook: Outlook,
    points: NDArray[np.float64],
    reports: list[Report],
    ignored: tuple[Ignored, ...],
    members: int,
    seed: int,
) -> Belief:
    """Weigh, count what is left, and choose the members."""
    days = [outlook.day(one.day) for one in reports]
    chances = chance_rolled(outlook.held_stress[days].astype(np.float64))
    shares = tempering(days)
    rolled = np.array([one.rolled for one in reports])[:, None]
    likely = np.where(rolled, chances, 1.0 - chances)
    weights = weights_of((shares[:, None] * np.log(likely)).sum(axis=0))
    last = outlook.day(outlook.known_through)
    water = outlook.held_water[last].astype(np.float64)
    stress = outlook.held_stress[max(last + 1 - PAST_DAYS, 0) : last + 1].sum(axis=0, dtype=float)
    drier = np.asarray(-water.round(2), np.float64), np.asarray(stress.round(4), np.float64)
    order = np.lexsort((drier[1], drier[0]))  # by water, then stress, then the draw's number
    left = effective(weights)
    said_nothing = left > load_table("belief").number("expected_share") * len(points)
    chosen = points[resampled(weights, order, members, seed)]
    used = [
        Used(one, float(chance.mean()), float(share))
        for one, chance, share in zip(reports, chances, shares, strict=True)
    ]
    return Belief(
        points=sobol_points(members, seed) if said_nothing else chosen,
        effective=left,
        draws=len(points),
        used=tuple(used),
        ignored=ignored,
        moved=moved_of(season, points, weights, water, stress),
    )
