"""Figures of many fields at once by the compiled night, where the usual one takes them singly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.growing_free import reaches_little
from rootbound_rules.risk.night_figures import asked_of, figures_of, may_have_grown_free
from rootbound_rules.season.pack_many import Case, alike, pack_many, planned_of
from rootbound_rules.season.plan import OfHybrid
from rootbound_service.nights.compute import Ready, failed, seed_of, status_of

if TYPE_CHECKING:
    from rootbound_rules.season.pack_many import Planned
    from rootbound_service.nights.parts import Computed


@dataclass(frozen=True, slots=True, eq=False)
class Quick:
    """One field's figures, and whether its roots may have something to tell."""

    computed: Computed
    may_be_free: bool = False
    may_be_held_again: bool = False


def quick_of(ready: Sequence[Ready], night: date) -> list[Quick]:
    """Compute fields side by side.

    Parameters
    ----------
    ready
        Fields that an outlook can be made of and of which nobody reported leaves.
    night
        The night.

    Returns
    -------
    list of Quick
        In the order given; a field that cannot be planned tells why.
    """
    hybrids = dict[object, OfHybrid]()
    found: list[Quick | None] = [None] * len(ready)
    planned: list[Planned] = []
    places: list[int] = []
    for place, one in enumerate(ready):
        try:
            planned.append(planned_of(_case(one), hybrids))
            places.append(place)
        except RulesError as error:
            computed = one.computed
            found[place] = Quick(failed(computed.field, str(error), computed.cell))
    for group in alike(planned):
        told = _told([planned[i] for i in group], night)
        for i, row in zip(group, told, strict=True):
            found[places[i]] = _quick(ready[places[i]], planned[i], row, night)
    return [one for one in found if one is not None]


def _case(ready: Ready) -> Case:
    """One field as the rules take it."""
    return Case(
        ready.season,
        ready.demand,
        ready.known_through,
        seed_of(ready.computed.field),
        ready.years,
        ready.coming,
    )


def _told(some: list[Planned], night: date) -> list[list[float]]:
    """Rows of fields that are alike."""
    from rootbound_rules.season.night import NTOLD
    from rootbound_rules.season.night import night as run

    count = len(some)
    told, found = np.empty((count, NTOLD)), np.empty(count, np.int8)
    none = np.zeros(count, np.int64), np.zeros((count, 1), np.int64), np.zeros((1, 3, 4), np.int64)
    search = (*none, np.zeros(5))
    asked = asked_of(len(some[0].case.years))
    run(*pack_many(some, night), asked, search, told, np.empty((count, 0, 3)), found)
    rows: list[list[float]] = told.tolist()
    return rows


def _quick(ready: Ready, planned: Planned, row: list[float], night: date) -> Quick:
    """Figures of one row."""
    today = (night - planned.plan.first).days
    figures = figures_of(row, planned.plan, today, len(planned.case.years))
    status = status_of(figures, ready.season)
    computed = replace(ready.computed, quick=figures, status=status)
    return Quick(computed, may_have_grown_free(row, planned.plan), reaches_little(figures.reach))
