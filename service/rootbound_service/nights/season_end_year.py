"""Many field-seasons of one year: counts of what warnings came to, and lessons for planting."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import TYPE_CHECKING

from rootbound_service.nights.season_end_shapes import (
    LeadRange,
    Lessons,
    Owed,
    Tally,
    YearEnd,
)

if TYPE_CHECKING:
    from rootbound_rules.risk.action_rows import Action
    from rootbound_service.nights.season_end_shapes import SeasonEnd

FEW = 5
"""Under so many seasons nothing is said of them as a kind; our choice."""
MOISTURES = ("dry", "moist", "wet")
UNDUG = "not dug"


def year_end(ends: Iterable[SeasonEnd]) -> YearEnd:
    """Count what the warnings of a year came to.

    Parameters
    ----------
    ends
        One for each field-season.
    """
    every = sorted(ends, key=lambda one: (one.past.field_name, one.past.season_id))
    looks = [look for one in every for look in one.leaves if look.agrees is not None]
    return YearEnd(
        every=tally("", every),
        by_wall=tuple(tally(name, some) for name, some in sorted(_walls(every).items())),
        by_grower=tuple(tally(name, some) for name, some in sorted(_growers(every).items())),
        leaves_agree=sum(bool(look.agrees) for look in looks),
        leaves_rolled_unseen=sum(look.rolled and not look.agrees for look in looks),
        leaves_flat_unseen=sum(not look.rolled and not look.agrees for look in looks),
        lessons=lessons(every),
    )


def tally(name: str, ends: Sequence[SeasonEnd]) -> Tally:
    """Count one group of seasons.

    Parameters
    ----------
    name
        Of the group: a wall class, a grower, or nothing for all.
    ends
        Its seasons.
    """
    leads = [
        one.lead_tight.days
        for one in ends
        if one.lead_tight is not None
        and one.lead_tight.kind == "warned"
        and one.lead_tight.days is not None
    ]
    return Tally(
        name=name,
        seasons=len(ends),
        stressed=sum(one.first_stress is not None for one in ends),
        hits=sum(one.hits for one in ends),
        misses=sum(one.misses for one in ends),
        false_alarms=sum(one.warnings_that("not_came") for one in ends),
        rain_came=sum(one.warnings_that("rain_came") for one in ends),
        not_known=sum(one.warnings_that("not_known") for one in ends),
        lead=LeadRange(len(leads), median(leads), min(leads), max(leads), len(leads) < FEW)
        if leads
        else None,
        few=len(ends) < FEW,
    )


def lessons(ends: Sequence[SeasonEnd]) -> Lessons:
    """Say what a year's seasons hold for the next planting.

    Parameters
    ----------
    ends
        One for each field-season.
    """
    wet: dict[str, list[SeasonEnd]] = defaultdict(list)
    for one in ends:
        if one.moisture is not None:
            wet[one.moisture].append(one)
    dug = {name: some for name, some in _walls(ends).items() if name != UNDUG}
    actions: dict[str, Action] = {row.id: row for one in ends for row in one.actions}
    return Lessons(
        by_wall=tuple(_owed(name, some) for name, some in sorted(dug.items())),
        by_moisture=tuple(_owed(name, wet[name]) for name in MOISTURES if name in wet),
        spared=tuple(
            one.past.field_name for one in ends if one.spared and one.wall_class is not None
        ),
        actions=tuple(actions.values()),
    )


def _walls(ends: Iterable[SeasonEnd]) -> Mapping[str, list[SeasonEnd]]:
    """Seasons by the wall class of their last dig."""
    found: dict[str, list[SeasonEnd]] = defaultdict(list)
    for one in ends:
        found[UNDUG if one.wall_class is None else str(one.wall_class)].append(one)
    return found


def _growers(ends: Iterable[SeasonEnd]) -> Mapping[str, list[SeasonEnd]]:
    """Seasons by their grower."""
    found: dict[str, list[SeasonEnd]] = defaultdict(list)
    for one in ends:
        found[one.past.grower].append(one)
    return found


def _owed(name: str, ends: Sequence[SeasonEnd]) -> Owed:
    """Stress that free roots would have been spared, over one kind of season."""
    roots = [max(one.held - one.free, 0.0) for one in ends]
    return Owed(
        name=name,
        n=len(ends),
        stressed=sum(one.first_stress is not None for one in ends),
        middle=median(roots),
        low=min(roots),
        high=max(roots),
        few=len(ends) < FEW,
    )
