"""The season's end of one field: what was warned, what happened, and how the two agree."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.risk.action_rows import root_cause
from rootbound_rules.risk.actions import actions_for
from rootbound_rules.tables import load_table
from rootbound_service.nights.season_end_days import (
    between,
    first_past,
    known_sum,
    mark,
    parts_of,
    spells_of,
    water_of,
)
from rootbound_service.nights.season_end_shapes import LeafLook, SeasonEnd
from rootbound_service.nights.season_end_warnings import (
    SHORT,
    TIGHT,
    WINDOW_DAYS,
    lead_of,
    stretches,
    warning_past,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_rules.risk.action_rows import Action
    from rootbound_service.nights.season_end_shapes import MoistureWord, SeasonPast
    from rootbound_service.records import DigRecord, ObservationRecord

RIPE = {"maize": "R6"}
"""Crops with advice for the next planting, and the stage at which it stands."""


def season_end(past: SeasonPast) -> SeasonEnd:
    """Hold one season's warnings against what came.

    Parameters
    ----------
    past
        The season, its days computed with the final weather.

    Returns
    -------
    SeasonEnd
        Days that are not known are in no sum, and are counted.
    """
    harvested = _harvest(past.seen)
    end = _end(past, harvested)
    last = end or max([past.planted, *past.days.held])
    span = between(past.planted, last)
    held = {day: value for day, value in past.days.held.items() if day <= last}
    free = {day: value for day, value in past.days.free.items() if day <= last}
    stress, spared = first_past(held), first_past(free)
    told = stretches(past.notes, TIGHT)
    water = water_of(past.rain_mm, past.seen)
    digs = sorted(past.digs, key=lambda one: (one.dug_on, one.id))
    return SeasonEnd(
        past=past,
        first_stress=stress,
        first_free=spared,
        parts=() if past.silk is None else parts_of(past.days, past.silk, past.planted, last),
        held=sum(held.values()),
        free=sum(free.values()),
        unknown=known_sum(held, span)[1],
        lead_tight=None if stress is None else lead_of(past.notes, TIGHT, stress),
        lead_short=None if stress is None else lead_of(past.notes, SHORT, stress),
        warnings=tuple(warning_past(one, held, water, end, mark()) for one in told),
        spells=spells_of(held, [night for one in told for night in one.rises], WINDOW_DAYS),
        leaves=tuple(_look(one, held) for one in past.seen if one.kind == "rolled"),
        harvested=harvested,
        wall_class=digs[-1].wall_class if digs else None,
        moisture=_moisture(digs),
        actions=_actions(past, digs, roots=stress is not None and spared is None),
    )


def _harvest(seen: tuple[ObservationRecord, ...]) -> date | None:
    """Day of harvest, the last that was said."""
    return max((one.day for one in seen if one.kind == "harvest"), default=None)


def _end(past: SeasonPast, harvested: date | None) -> date | None:
    """Last day on which stress could come."""
    return min((day for day in (past.black_layer, harvested) if day is not None), default=None)


def _look(one: ObservationRecord, held: Mapping[date, float]) -> LeafLook:
    """Set a look at the leaves beside its day, by the stress at which half of fields are rolled."""
    stress, rolled = held.get(one.day), bool(one.value)
    if stress is None:
        return LeafLook(one.day, rolled, None, None)
    expected = stress >= load_table("belief").number("rolled.middle_stress")
    return LeafLook(one.day, rolled, stress, rolled == expected)


def _moisture(digs: list[DigRecord]) -> MoistureWord | None:
    """Soil at the first dig whose card says it."""
    return next((one.soil_moisture for one in digs if one.soil_moisture), None)


def _actions(past: SeasonPast, digs: list[DigRecord], *, roots: bool) -> tuple[Action, ...]:
    """Rows for the next planting that the rules have for what was dug; where it cost something."""
    if not digs or not roots or past.crop not in RIPE:
        return ()
    found = root_cause(digs[-1].wall_class, digs[-1].pan_class)
    fitting = actions_for(
        past.rung_last,
        RIPE[past.crop],
        held_is_reason=True,
        irrigated=past.irrigated,
        cause=found,
        crop=past.crop,
        status="finished",
    )
    return tuple(one for one in fitting if one.kind == "plan")
