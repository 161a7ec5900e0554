"""How fields stand, as a row each: for a spreadsheet, and for GeoJSON's properties."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES

if TYPE_CHECKING:
    from rootbound_service.feeds.stand import Stand

COLUMNS = (
    "field", "number", "grower", "crop", "planted", "night", "status", "rung", "rung_name",
    "free_rung", "stage", "water_in_reach_mm", "free_water_mm", "days_ahead_median",
    "days_ahead_low", "days_ahead_high", "chance_7_days", "chance_14_days", "reach",
    "weather_through", "lat", "lon",
)  # fmt: skip
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet compute a cell: OWASP, CSV injection."""


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
        through = row.weather_through
        found |= {
            "night": row.night.isoformat(),
            "status": row.status,
            "rung": row.rung,
            "rung_name": None if row.rung is None else RUNG_NAMES[row.rung],
            "free_rung": row.free_rung,
            "stage": row.stage,
            "water_in_reach_mm": _mm(row.water_in_reach_mm),
            "free_water_mm": _mm(row.free_water_mm),
            "days_ahead_median": row.days_ahead_median,
            "days_ahead_low": row.days_ahead_low,
            "days_ahead_high": row.days_ahead_high,
            "chance_7_days": row.chance_7,
            "chance_14_days": row.chance_14,
            "reach": row.reach,
            "weather_through": through.isoformat() if through else None,
        }
    return {name: found.get(name) for name in COLUMNS}


def table_of(stands: Sequence[Stand]) -> str:
    """Write the rows as CSV, RFC 4180.

    Parameters
    ----------
    stands
        The fields.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    for stand in stands:
        writer.writerow({name: _cell(value) for name, value in row_of(stand).items()})
    return out.getvalue()


def _cell(value: object) -> object:
    """A cell that no spreadsheet computes: people name their fields."""
    if isinstance(value, str) and value.startswith(FORMULA):
        return f"'{value}"
    return "" if value is None else value


def _mm(value: float | None) -> float | None:
    return None if value is None else round(max(value, 0.0), 1)
