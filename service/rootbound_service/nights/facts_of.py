"""From a decided field to the facts that notes and digests word."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from rootbound_rules.season.heat_normal import heat_normal
from rootbound_service.nights.ahead_facts import with_ahead
from rootbound_service.nights.row_facts import SOURCE, facts_of_row
from rootbound_service.nights.series import series_of
from rootbound_service.notes.facts import FieldFacts

if TYPE_CHECKING:
    from rootbound_rules.season.heat_normal import HeatNormal
    from rootbound_service.nights.parts import Decided


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
