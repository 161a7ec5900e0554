"""How fields stand, as a row each: for a spreadsheet, and for GeoJSON's properties."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES

if TYPE_CHECKING:
    from rootbound_service.feeds.stand import Stand
    from rootbound_service.records import RiskRecord

COLUMNS = (
    "field", "number", "grower", "crop", "planted", "night", "status", "rung", "rung_name",
    "since", "reason", "free_rung", "stage", "water_in_reach_mm", "free_water_mm",
    "days_ahead_kind", "days_ahead_median", "days_ahead_low", "days_ahead_high", "chance_7_days",
    "chance_14_days", "stress_days_season", "reach", "weather_through", "lat", "lon",
)  # fmt: skip
"""``night`` is the last one that was run: whoever reads an old one knows that nothing runs."""
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What makes a spreadsheet compute a cell, also full-width: OWASP, CSV injection."""


def row_of(stand: Stand) -> dict[str, object]:
    """Give a field's row; None where a figure is not known.

    Parameters
    ----------
    stand
        The field.
    """
    field, row = stand.field, stand.now
    found: dict[str, object] = {
        "field": field.name,
        "number": field.id,
        "grower": field.grower.name,
        "crop": field.crop,
        "planted": field.planted.isoformat(),
        "lat": field.lat,
        "lon": field.lon,
    }
    if row is not None:
        found |= {"night": stand.nights[-1].night.isoformat(), **figures_of(row)}
    return {name: found.get(name) for name in COLUMNS}


def figures_of(row: RiskRecord) -> dict[str, object]:
    """Give the figures of a night, rounded to what is meant; None where one is not known.

    Parameters
    ----------
    row
        Of the night.
    """
    since, through = row.changed_on, row.weather_through
    return {
        "status": row.status,
        "rung": row.rung,
        "rung_name": None if row.rung is None else RUNG_NAMES[row.rung],
        "since": since.isoformat() if since else None,
        "reason": row.reason,
        "free_rung": row.free_rung,
        "stage": row.stage or None,
        "water_in_reach_mm": _round(row.water_in_reach_mm, 1, least=0.0),
        "free_water_mm": _round(row.free_water_mm, 1, least=0.0),
        "days_ahead_kind": row.days_ahead_kind,
        "days_ahead_median": _round(row.days_ahead_median, 1),
        "days_ahead_low": _round(row.days_ahead_low, 1),
        "days_ahead_high": _round(row.days_ahead_high, 1),
        "chance_7_days": _round(row.chance_7, 2),
        "chance_14_days": _round(row.chance_14, 2),
        "stress_days_season": _round(row.stress_season, 2),
        "reach": _round(row.reach, 2),
        "weather_through": through.isoformat() if through else None,
    }


def table_of(stands: Sequence[Stand]) -> str:
    """Write the rows as CSV, RFC 4180.

    Parameters
    ----------
    stands
        The fields.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for stand in stands:
        writer.writerow(map(_cell, row_of(stand).values()))
    return out.getvalue()


def _cell(value: object) -> object:
    """A cell that no spreadsheet computes: people name their fields."""
    if isinstance(value, str) and value.lstrip(" ").startswith(FORMULA):
        return f"'{value}"
    return "" if value is None else value


def _round(value: float | None, digits: int, least: float = -math.inf) -> float | None:
    """A figure with so many digits; neither JSON nor a table has a word for what is no number."""
    if value is None or not math.isfinite(value):
        return None
    return round(max(value, least), digits) + 0.0  # + 0.0: no "-0.0"
