"""Which rated fields to dig once more at V6 to V8, after a rain that moist walls need.

Where the soil stays moist held roots get through the wall (K-State, Kentucky). A dig from
before V6 cannot know of that: where it would change the rung, a second one is worth the walk.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.risk.dig_window import may_dig_again
from rootbound_rules.risk.expected_rung import worst_rungs
from rootbound_rules.risk.more_plants import MorePlants, more_plants
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.season.outlook import Outlook
    from rootbound_rules.season.values import FieldSeason


class AgainReason(StrEnum):
    """Why a second dig may change what is told of a field."""

    INTERVAL = "interval"
    """The dig's own range reaches over the edge of a rung."""
    LATE_CROSSING = "late_crossing"
    """Roots that crossed since would be on a lower rung."""
    COUNTS_WANTED = "counts_wanted"


@dataclass(frozen=True, slots=True)
class DigAgain:
    """One rated field that is worth a second dig now."""

    field_id: int
    reasons: tuple[AgainReason, ...]
    dug_on: date
    since_soaking: int
    """Days since the last soaking rain. [d]"""
    rain_mm: float
    """Rain and water given on that day. [mm]"""
    collars: float
    held_rung: int
    """Worst expected of the coming two weeks, as dug."""
    free_rung: int
    more: MorePlants


def worth_again(
    field_id: int, outlook: Outlook, season: FieldSeason, today: date
) -> DigAgain | None:
    """Tell whether a rated field is worth a second dig now.

    Parameters
    ----------
    field_id
        The field.
    outlook
        Tonight's, of this season.
    season
        The field and its digs.
    today
        The day of the night's run.

    Returns
    -------
    DigAgain or None
        None outside V6 to V8, where the newest dig is from V6 or later, where no soaking
        rain fell since, and where crossed roots would change nothing.
    """
    if not season.digs:
        return None
    dig = max(season.digs, key=lambda dig: dig.dug_on)
    collars = _collars(outlook, today)
    young = _collars(outlook, dig.dug_on) < load_table("dig_list").number("again.opens")
    if not (may_dig_again(collars) and young and outlook.run.held):
        return None
    rain = last_soaking(outlook, dig.dug_on, today)
    if rain is None:
        return None
    held, free = worst_rungs(outlook, today)
    more = more_plants(outlook, season, today)
    reasons = _reasons(more, held, free)
    if not reasons:
        return None
    return DigAgain(field_id, reasons, dig.dug_on, *rain, collars, held, free, more)


def order_again(fields: Sequence[DigAgain]) -> tuple[DigAgain, ...]:
    """Put them in order: the highest expected rung first, then what the roots add to it.

    Parameters
    ----------
    fields
        In any order.
    """

    def turn(one: DigAgain) -> tuple[int, int, float, int]:
        return -one.held_rung, one.free_rung, -one.collars, one.field_id

    return tuple(sorted(fields, key=turn))


def last_soaking(outlook: Outlook, since: date, today: date) -> tuple[int, float] | None:
    """Find the last soaking rain or watering after a day and before today, as far as known.

    Parameters
    ----------
    outlook
        Its rain is the same for all members as far as it is known.
    since
        The day after which.
    today
        The day of the night's run.

    Returns
    -------
    tuple or None
        Days from then to today [d] and that day's water [mm].
    """
    soaking = load_table("dig_list").number("rain.soaking_mm")
    first = max(outlook.day(since) + 1, 0)
    end = min(outlook.day(today), outlook.day(outlook.known_through) + 1)
    span = slice(first, max(end, first))
    water = outlook.rain_mm[span, 0] + outlook.run.irrigation[span]
    found = np.flatnonzero(water >= soaking)
    if not len(found):
        return None
    last = int(found[-1])
    return outlook.day(today) - (first + last), float(water[last])


def _collars(outlook: Outlook, day: date) -> float:
    """Median collars that show on the morning of a day. [-]"""
    yesterday = max(outlook.day(day) - 1, 0)
    return outlook.plan.stages.collars(float(np.median(outlook.gdd_f[yesterday])))


def _reasons(more: MorePlants, held: int, free: int) -> tuple[AgainReason, ...]:
    """What a second dig could change."""
    found: list[AgainReason] = []
    if more.kind in {"more", "beyond"}:
        found.append(AgainReason.INTERVAL)
    if held > free:
        found.append(AgainReason.LATE_CROSSING)
        if more.kind == "counts_wanted":
            found.append(AgainReason.COUNTS_WANTED)
    return tuple(found)
