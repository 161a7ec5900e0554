"""A risk row as each database holds it, and what counts as a change from one night to the next."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import fields
from datetime import date
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection

from rootbound_service.records import RiskRecord

MM, DAYS, SHARE, STRESS, HEAT = 0.05, 0.05, 0.005, 0.005, 0.5
ROUNDING = {
    "gdd_f_total": HEAT,
    "water_in_reach_mm": MM,
    "free_water_mm": MM,
    "days_ahead_median": DAYS,
    "days_ahead_low": DAYS,
    "days_ahead_high": DAYS,
    "chance_7": SHARE,
    "chance_14": SHARE,
    "stress_past_7": STRESS,
    "stress_season": STRESS,
    "reach": SHARE,
}
"""The rounding rule, half of what is shown: a change up to this alone writes no row."""
RISK = tuple(one.name for one in fields(RiskRecord))
DATES = ("changed_on", "weather_through")
KEYS = ("season_id", "night")
EXACT = tuple(one for one in RISK if one not in {*KEYS, *DATES, *ROUNDING, "detail"})
COMPARED = ("status", *(one for one in EXACT if one != "status"), *DATES, *ROUNDING)
"""What decides whether a row is worth keeping, in the order in which it is compared."""
WRITTEN = (*KEYS, *COMPARED, "detail")
"""Columns of a row as it is put in."""
THROUGH = COMPARED.index("weather_through")
CHANGED = COMPARED.index("changed_on")
LEAST = tuple(ROUNDING.values())

Cells = tuple[Any, ...]
cells_of: Callable[[RiskRecord], Cells] = attrgetter(*COMPARED)
to_json = json.JSONEncoder(allow_nan=False, ensure_ascii=False, sort_keys=True).encode
"""As PortableJSON writes it, with an encoder that is made once."""


def differs(old: Sequence[Any], new: Sequence[Any]) -> bool:
    """Tell whether two nights differ beyond rounding, by their compared cells.

    Parameters
    ----------
    old, new
        In the order of ``COMPARED``, dates of both in the same form.
    """
    if old[:THROUGH] != new[:THROUGH]:
        return True
    # once the season is over, later weather changes nothing
    if old[THROUGH] != new[THROUGH] and old[0] != "finished":
        return True
    for was, now, least in zip(old[THROUGH + 1 :], new[THROUGH + 1 :], LEAST, strict=True):
        if was != now and (was is None or now is None or abs(was - now) > least):
            return True
    return False


def packed(row: RiskRecord, *, dates_as_text: bool) -> Cells:
    """Give a row's compared cells as a database gives them back.

    Parameters
    ----------
    row
        The row.
    dates_as_text
        As SQLite keeps them.
    """
    cells = cells_of(row)
    if not dates_as_text:
        return cells
    changed, through = cells[CHANGED], cells[THROUGH]
    return (
        *cells[:CHANGED],
        changed.isoformat() if changed else None,
        through.isoformat() if through else None,
        *cells[THROUGH + 1 :],
    )


def is_sqlite(conn: Connection) -> bool:
    """Tell whether a connection is to SQLite, which has neither dates nor COPY."""
    return conn.dialect.name == "sqlite"


def record_of(row: Sequence[Any]) -> RiskRecord:
    """Make a record of cells in the order of ``RISK``, dates as either database gives them.

    Parameters
    ----------
    row
        A row of the driver.
    """
    cells: Cells = (
        row[0],
        _day(row[1]),
        *row[2:_LAST],
        _day(row[_LAST]),
        _day(row[_LAST + 1]),
        bool(row[_LAST + 2]),
        _detail(row[_LAST + 3]),
    )
    return RiskRecord(*cells)


_LAST = RISK.index("weather_through")
if RISK[:2] != KEYS or RISK[_LAST:] != ("weather_through", "changed_on", "said_free", "detail"):
    message = "record_of knows another order of RiskRecord's fields"
    raise AssertionError(message)


def _day(told: date | str | None) -> date | None:
    return date.fromisoformat(told) if isinstance(told, str) else told


def _detail(text: str | None) -> dict[str, object]:
    found: dict[str, object] | None = json.loads(text) if text else None
    return found or {}
