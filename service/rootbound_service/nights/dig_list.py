"""Which fields to dig first and which again, from what a night computed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.table import stages_of
from rootbound_rules.errors import RulesError
from rootbound_rules.risk.dig_again import DigAgain, order_again, worth_again
from rootbound_rules.risk.dig_list import Undug, order_digs
from rootbound_rules.risk.dig_window import DigWindow, unknown_window, window_of, window_on
from rootbound_rules.risk.spring import Spring, read_spring
from rootbound_rules.season.observed import with_observed
from rootbound_rules.tables import load_table
from rootbound_service.errors import ServiceError
from rootbound_service.nights.compute import season_is_over
from rootbound_service.nights.observed import observed_of
from rootbound_service.nights.parts import Computed
from rootbound_service.nights.seasons import season_of
from rootbound_service.notes.dig_lists import DigList

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.values import FieldSeason
    from rootbound_service.nights.parts import CellNight, Gathered
    from rootbound_service.records import FieldRecord

READ = {"ahead", "open", "late"}
"""Windows for which the weather of planting and since matters."""


def dig_list(computed: Iterable[Computed], night: date) -> DigList:
    """Put what there is to dig in order.

    Parameters
    ----------
    computed
        Fields of one night.
    night
        The night.

    Returns
    -------
    DigList
        Every field without a dig whose season goes on, and the rated ones worth a second dig.
    """
    first: list[Undug] = []
    again: list[DigAgain] = []
    for one in computed:
        if one.status == "finished" or _is_done(one.field, night):
            continue
        if not _dug(one.field, night):
            first.append(_undug(one, night))
        elif (second := _again(one, night)) is not None:
            again.append(second)
    return DigList(order_digs(first), order_again(again))


def to_compute(gathered: Gathered) -> tuple[Gathered, tuple[Computed, ...]]:
    """Part the fields a list alone is about: those that need an outlook, and those past it.

    Parameters
    ----------
    gathered
        What a night starts from.

    Returns
    -------
    tuple
        The same with only the fields that nobody has dug up to about V10 and the rated ones
        about V5 to V9; and the undug ones that have grown beyond, as they stand.
    """
    kept: list[FieldRecord] = []
    past: list[Computed] = []
    for field in gathered.fields:
        if _is_done(field, gathered.night):
            continue
        cell = gathered.cells.get(gathered.cell_of[field.id])
        window, mature = _grown(field, cell, gathered.night)
        if _dug(field, gathered.night):
            kept += [field] if _near_again(window.collars) else []
        elif window.state != "past":
            kept.append(field)
        elif not mature:
            past.append(Computed(field, "unrated", cell=cell))
    return replace(gathered, fields=tuple(kept)), tuple(past)


def _near_again(collars: float) -> bool:
    """Whether a rated field is about V5 to V9: the outlook's own stage may differ a little."""
    rows = load_table("dig_list")
    return rows.number("again.opens") - 1.0 <= collars < rows.number("again.closes") + 1.0


def _is_done(field: FieldRecord, night: date) -> bool:
    """Whether a season is over or the field was harvested."""
    harvested = observed_of(field.observations, night).harvested
    return season_is_over(field, night) or (harvested is not None and harvested <= night)


def _dug(field: FieldRecord, night: date) -> bool:
    """Whether anybody had dug by a night."""
    return any(dig.dug_on <= night for dig in field.digs)


def _undug(one: Computed, night: date) -> Undug:
    """One field without a dig, its planting and its spring as far as they can be read."""
    field = one.field
    if one.outlook is not None:
        window = window_on(one.outlook, night, field.crop)
    else:
        window, _ = _grown(field, one.cell, night)
    spring = _spring(field, one.cell, night) if window.state in READ else None
    return Undug(field.id, window, spring)


def _grown(field: FieldRecord, cell: CellNight | None, night: date) -> tuple[DigWindow, bool]:
    """Where a field stands by the heat units it has had, and whether it is mature by them."""
    if cell is None or cell.known_through is None:
        return unknown_window(field.crop), False
    try:
        season = season_of(field, cell.elevation_m, night)
        stages, demand = stages_of(season), cell.demand_of(field.crop)
    except (RulesError, ServiceError, KeyError):
        return unknown_window(field.crop), False
    first = demand.index(field.planted)
    if first < 0:
        return unknown_window(field.crop), False
    daily = demand.gdd_f[first + 1 : demand.index(night)]  # from the day after planting on
    since = np.cumsum(np.append(0.0, daily))
    window = window_of(since[:, None], len(since), stages, field.crop)
    return window, bool(since[-1] >= stages.black_layer)


def _spring(field: FieldRecord, cell: CellNight | None, night: date) -> Spring | None:
    """Planting and since by the field's own gauge where it has one; None if not known."""
    if cell is None or cell.known_through is None:
        return None
    try:
        season = season_of(field, cell.elevation_m, night)
        demand = _own_days(field, season, cell, night)
        return read_spring(season, demand, night, irrigated=field.irrigated)
    except (RulesError, ServiceError, KeyError):
        return None


def _own_days(field: FieldRecord, season: FieldSeason, cell: CellNight, night: date) -> Demand:
    """The cell's days with what was measured on the field in the place of the grid's."""
    seen = observed_of(field.observations, night)
    return with_observed(cell.demand_of(season.crop), seen.rain_mm, seen.irrigation_mm)


def _again(one: Computed, night: date) -> DigAgain | None:
    """One rated field, if a second dig now would change something."""
    if one.status != "watched" or one.outlook is None or one.season is None:
        return None
    return worth_again(one.field.id, one.outlook, one.season, night)
