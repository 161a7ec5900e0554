"""The last days of one place as lines of text: each value, where it comes from, what is marked."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.day import QUANTITIES
from rootbound_service.weather.fill.compose import NO_SOURCE, How

if TYPE_CHECKING:
    from rootbound_service.weather.series import PlaceDays

SIGNS = {
    How.MISSING: " ",
    How.OBSERVED: " ",
    How.OTHER_SOURCE: "*",
    How.INTERPOLATED: "~",
    How.FORMULA: "f",
    How.CLIMATE: "c",
    How.FORECAST: "p",
    How.ASSUMED_DRY: "?",
}
LEGEND = (
    "* another source, set right by its usual difference   ~ between its neighbours\n"
    "f by formula   c usual for the day   p forecast   ? nobody knows, taken for dry"
)


def day_rows(days: PlaceDays, count: int) -> list[list[str]]:
    """Give the last days, one row a day: the date, then every quantity with its sign.

    Parameters
    ----------
    days
        Of the place.
    count
        How many days.
    """
    total = len(days.weather)
    rows: list[list[str]] = []
    for index in range(max(total - count, 0), total):
        row = [str(days.weather.start + timedelta(days=index))]
        for quantity in range(len(QUANTITIES)):
            value = days.composed.values[quantity, days.index, index]
            how = How(int(days.composed.how[quantity, days.index, index]))
            row.append("-" if np.isnan(value) else f"{value:.1f}{SIGNS[how]}")
        rows.append([*row, ", ".join(_sources(days, index))])
    return rows


def day_heads() -> list[str]:
    """Heads of the columns, with units."""
    return ["day", *(f"{one.name.split('_')[0]} [{one.units}]" for one in QUANTITIES), "from"]


def where_words(lat: float, lon: float) -> str:
    """Say where a cell's centre lies.

    Parameters
    ----------
    lat, lon
        North and east positive. [deg]
    """
    north, east = "N" if lat >= 0 else "S", "E" if lon >= 0 else "W"
    return f"{abs(lat):.2f}° {north}, {abs(lon):.2f}° {east}"


def _sources(days: PlaceDays, index: int) -> list[str]:
    """Names of the sources of one day, each once."""
    used = days.composed.source[:, days.index, index]
    return [days.composed.names[one] for one in dict.fromkeys(used.tolist()) if one != NO_SOURCE]
