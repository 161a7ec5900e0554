"""A season's days as they are drawn, out of the outlook."""

from __future__ import annotations

from datetime import timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes.facts import SeasonSeries

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.season.outlook import Outlook

DAYS_SHOWN = 28
"""Days of the outlook in the pictures."""


@lru_cache(maxsize=4)  # a note's letter and its field's page show the same season
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
