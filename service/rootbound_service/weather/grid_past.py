"""What was known on a past day: later revisions undone, later values taken away."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.grid_change import rounded

if TYPE_CHECKING:
    from rootbound_service.weather.grid_days import Days
    from rootbound_service.weather.revisions import Revisions


def as_known_on(days: Days, later: Revisions, as_of: date) -> Days:
    """Take days back to how they were at the end of a past day.

    Parameters
    ----------
    days
        As stored now.
    later
        Every revision of their cells that was learned after that day.
    as_of
        The day.
    """
    issued, seen = (part.copy() for part in (days.issued, days.seen))
    first = layout.index_of(days.start)
    places: dict[str, list[int]] = {}
    for place, cell in enumerate(days.cells):
        places.setdefault(cell.key, []).append(place)
    order = [
        days.quantities.index(name) if name in days.quantities else -1 for name in QUANTITY_NAMES
    ]
    inside = (later.rows["day"] >= first) & (later.rows["day"] < first + days.values.shape[2])
    for row in later.rows[inside][::-1]:  # the newest is undone first
        quantity = order[int(row["quantity"])]
        for place in places.get(later.keys[int(row["cell"])], []):
            spot = (quantity, place, int(row["day"]) - first)
            days.values[spot] = rounded(row["old_value"][None])[0]
            days.flags[spot], days.status[spot] = row["old_flag"], row["old_status"]
            issued[spot] = row["old_issued"]
    unknown = (seen > layout.index_of(as_of)) | (seen < 0)
    days.values[unknown] = np.nan
    days.flags[unknown], days.status[unknown] = 0, 0
    issued[unknown] = seen[unknown] = layout.NOT_KNOWN
    days.read_dates = lambda: (issued, seen)
    days.forget_dates()
    return days
