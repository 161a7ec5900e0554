"""The table of all fields: one line a field, its rung always as number and word."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from rootbound_service.cli.screen import print_table
from rootbound_service.nights.standing import facts_of
from rootbound_service.notes.en.quantities import short_day
from rootbound_service.notes.en.wording import status_label
from rootbound_service.notes.facts import DaysAhead, FieldFacts
from rootbound_service.notes.units import water
from rootbound_service.records import FieldRecord, RiskRecord, Units

HEADS = (
    "id",
    "field",
    "grower",
    "rung",
    "days\nahead",
    "water\nin reach",
    "stage",
    "last\ndig",
    "weather\nthrough",
)
WHOLE = ("id", "rung")
"""Columns never broken over lines: a rung's number and its word stay together."""
NOTHING = "–"


def print_overview(
    fields: Sequence[FieldRecord],
    risks: Mapping[int, RiskRecord],
    *,
    today: date,
    stale_days: int,
    units: Units | None,
) -> None:
    """Print the table.

    Parameters
    ----------
    fields
        With seasons and digs.
    risks
        What holds tonight, by season.
    today
        The day it is.
    stale_days
        Weather older than this makes a field unknown. [days]
    units
        Units of water and dates; None: those of each grower.
    """
    rows: list[tuple[str, ...]] = []
    for field in fields:
        facts = facts_of(field, risks.get(field.season_id), today=today, stale_days=stale_days)
        rows.append(_row(field, facts, units or field.grower.units))
    print_table(HEADS, rows, whole=WHOLE)


def _row(field: FieldRecord, facts: FieldFacts | None, units: Units) -> tuple[str, ...]:
    dug = short_day(field.digs[-1].dug_on, units) if field.digs else "no dig"
    head = (str(field.id), field.name, field.grower.name)
    if facts is None:
        return (*head, "no night yet", NOTHING, NOTHING, NOTHING, dug, NOTHING)
    reach = facts.water_in_reach_mm
    known = facts.status in {"watched", "unrated"}
    return (
        *head,
        status_label(facts),
        ahead_cell(facts.days_ahead) if known else NOTHING,
        water(reach, units) if known and reach is not None else NOTHING,
        facts.stage or NOTHING,
        dug,
        short_day(facts.weather_through, units) if facts.weather_through else "none",
    )


def ahead_cell(ahead: DaysAhead) -> str:
    """Days ahead in the width of a column: ``9 (4–15)``. [days]"""
    if ahead.kind == "days" and ahead.median is not None:
        if ahead.low is None or ahead.high is None:
            return f"{ahead.median:.0f}"
        to = "–" if round(ahead.low) >= 0 else " to "
        return f"{round(ahead.median)} ({round(ahead.low)}{to}{round(ahead.high)})"
    return {"free_would_not": "free would not", "neither": "neither"}.get(ahead.kind, NOTHING)
