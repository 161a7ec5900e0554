"""Sums over the days of a season that is over, of which some may not be known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.stress import NEVER, onset
from rootbound_rules.tables import load_table
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.nights.season_end_shapes import Days, PartStress, Spell

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.nights.season_end_shapes import Part
    from rootbound_service.records import ObservationRecord

BREAK_DAYS = 7
"""Stressed days further apart than this are of two spells; our choice."""
ROUNDING = 1e-6
"""Numbers kept short pass their ends by so much."""


def mark() -> float:
    """Return the stress that the rules call running short. [d]"""
    return load_table("ladder").number("onset_days")


def days_of(
    first: date,
    held: NDArray[np.floating] | Sequence[float],
    free: NDArray[np.floating] | Sequence[float],
) -> Days:
    """Make days of two rows of numbers.

    Parameters
    ----------
    first
        Day of the first number.
    held, free
        Stress of each day; one that is no number is not known. [d]

    Raises
    ------
    RefusedInput
        If the rows differ in length, or a day's stress is not between 0 and 1.
    """
    if len(held) != len(free):
        what = f"{len(held)} days of held roots beside {len(free)} of free ones"
        raise RefusedInput((Problem("stress", what, "both of the same days"),))
    return Days(_known(first, held, "held"), _known(first, free, "free"))


def _known(first: date, row: Iterable[float], which: str) -> dict[date, float]:
    """Days that have a number."""
    found: dict[date, float] = {}
    for at, value in enumerate(map(float, row)):
        day = first + timedelta(days=at)
        if not isfinite(value):
            continue
        if not -ROUNDING <= value <= 1.0 + ROUNDING:
            what = f"{value:g} on {day} ({which} roots)"
            raise RefusedInput((Problem("stress", what, "a share of the day, 0 to 1"),))
        found[day] = min(max(value, 0.0), 1.0)
    return found


def between(first: date, last: date) -> tuple[date, ...]:
    """Every day from the first to the last, both included."""
    return tuple(first + timedelta(days=at) for at in range((last - first).days + 1))


def known_sum(values: Mapping[date, float], days: Sequence[date]) -> tuple[float, int]:
    """Sum what is known of some days, and count the days that are not."""
    known = [values[day] for day in days if day in values]
    return sum(known), len(days) - len(known)


def first_past(stress: Mapping[date, float]) -> date | None:
    """Return the day on which a sum passes the mark, as the outlook finds it.

    Parameters
    ----------
    stress
        By day; days that are missing add nothing. [d]
    """
    if not stress:
        return None
    days = sorted(stress)
    row = np.array([[stress[day]] for day in days], dtype=np.float32)
    moment = float(onset(row, mark())[0])
    if moment == NEVER:
        return None
    return days[min(int(moment), len(days) - 1)]  # rounding may put it at the last day's end


def parts_of(days: Days, silk: date, first: date, last: date) -> tuple[PartStress, ...]:
    """Share the season's stress out by the window around silk that the ladder calls critical.

    Parameters
    ----------
    days
        Both twins.
    silk
        Day of silk.
    first, last
        First and last day of the season.
    """
    rows = load_table("ladder")
    begin = silk - timedelta(days=int(rows.number("critical.days_before_silk")))
    end = silk + timedelta(days=int(rows.number("critical.days_after_silk")))
    one = timedelta(days=1)
    return (
        _part(days, "before_silk", first, min(begin - one, last)),
        _part(days, "around_silk", max(begin, first), min(end, last)),
        _part(days, "after_silk", max(end + one, first), last),
    )


def _part(days: Days, part: Part, first: date, last: date) -> PartStress:
    """Sum one part; a day counts only where both twins are known."""
    span = between(first, last)
    both = [day for day in span if day in days.held and day in days.free]
    held, free = (known_sum(one, both)[0] for one in (days.held, days.free))
    return PartStress(part, held, free, len(span) - len(both))


def spells_of(
    held: Mapping[date, float], risen: Sequence[date], before_days: int
) -> tuple[Spell, ...]:
    """Find the spells whose stress passed the mark, and whether each was warned of.

    Parameters
    ----------
    held
        Stress of the held roots by day. [d]
    risen
        Nights on which a warning rose.
    before_days
        A note counts on the day a spell passes the mark and so many days before. [d]
    """
    stressed = sorted(day for day, value in held.items() if value > 0.0)
    runs: list[list[date]] = [[stressed[0]]] if stressed else []
    for before, day in pairwise(stressed):
        if (day - before).days > BREAK_DAYS:
            runs.append([])
        runs[-1].append(day)
    found: list[Spell] = []
    for run in runs:
        passed = first_past({day: held[day] for day in run})
        if passed is not None:
            warned = any(0 <= (passed - night).days <= before_days for night in risen)
            total = known_sum(held, run)[0]
            found.append(Spell(run[0], passed, run[-1], total, warned))
    return tuple(found)


def water_of(rain_mm: Mapping[date, float], seen: Iterable[ObservationRecord]) -> dict[date, float]:
    """Rain and watering by day: a gauge on the field goes before the grid's rain. [mm]

    Parameters
    ----------
    rain_mm
        Final weather. [mm]
    seen
        Gauges and watering; the latest gauge of a day counts, all watering adds. [mm]
    """
    records = sorted(seen, key=lambda one: (one.recorded_at, one.id))
    gauge = {one.day: one.value or 0.0 for one in records if one.kind == "rain"}
    water = {**rain_mm, **gauge}
    for one in records:
        if one.kind == "irrigation":
            water[one.day] = water.get(one.day, 0.0) + (one.value or 0.0)
    return water
