"""From a decided field to the facts that notes and digests word."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.season.heat_normal import heat_normal
from rootbound_service.nights.ahead_facts import with_ahead
from rootbound_service.nights.row_facts import SOURCE, facts_of_row
from rootbound_service.notes.facts import FieldFacts, SeasonSeries

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.season.heat_normal import HeatNormal
    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.parts import Decided

DAYS_SHOWN = 28
"""Days of the outlook in the pictures."""


def facts_of(decided: Decided, previous_rung: int | None) -> FieldFacts:
    """Return what may be said of one field tonight.

    Parameters
    ----------
    decided
        The field's night.
    previous_rung
        Rung to compare with: that of the last note, or of a week ago.
    """
    computed, row, a = decided.computed, decided.risk, decided.computed.assessment
    silk = a.days_to_silk if a else None
    facts = replace(
        facts_of_row(computed.field, row, previous_rung),
        days_to_silk=silk if silk is not None and silk > 0 else None,
        critical_window=bool(a and a.critical),
        weather_source=computed.cell.days.names if computed.cell else SOURCE,
        series=series_of(computed.outlook, row.night) if computed.outlook else None,
    )
    return with_ahead(replace(facts, heat_normal=_heat_normal(decided)), decided)


def _heat_normal(decided: Decided) -> HeatNormal | None:
    """Heat units of past years over the days of this season."""
    computed = decided.computed
    if computed.outlook is None or computed.cell is None or computed.season is None:
        return None
    demand = computed.cell.demand_of(computed.season.crop)
    planted, outlook = computed.season.planted, computed.outlook
    return heat_normal(demand, planted, outlook.known_through, outlook.years)


def series_of(outlook: Outlook, night: date) -> SeasonSeries | None:
    """Return the season in one picture: medians so far, the middle 80 % of the days to come.

    Parameters
    ----------
    outlook
        Both twins over all members.
    night
        The night; days after the last real weather are outlook.

    Returns
    -------
    SeasonSeries or None
        None while no day since planting is known: there is nothing to draw yet.
    """
    plant, last = outlook.plan.plant_day, outlook.day(outlook.known_through)
    if last < plant:
        return None
    end = min(outlook.day(night) + DAYS_SHOWN, len(outlook.held_water) - 1)
    past, ahead = slice(plant, last + 1), slice(last + 1, end + 1)
    low, mid, high = np.quantile(outlook.held_water[ahead], [0.1, 0.5, 0.9], axis=1)
    return SeasonSeries(
        dates=_dates(outlook, past),
        rain_mm=outlook.rain_mm[past, 0],
        held_water_mm=np.median(outlook.held_water[past], axis=1).astype(np.float64),
        free_water_mm=np.median(outlook.free_water[past], axis=1).astype(np.float64),
        ahead=_dates(outlook, ahead),
        held_low_mm=low,
        held_mid_mm=mid,
        held_high_mm=high,
        free_mid_mm=np.median(outlook.free_water[ahead], axis=1).astype(np.float64),
        reach=np.median(outlook.reach[past], axis=1).astype(np.float64),
        reach_ahead=np.median(outlook.reach[ahead], axis=1).astype(np.float64),
    )


def _dates(outlook: Outlook, part: slice) -> tuple[date, ...]:
    """Dates of a part of the season."""
    return tuple(outlook.plan.first + timedelta(days=i) for i in range(part.start, part.stop))
