"""The numbers behind a picture, a day each, for whoever points at it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes.speech import say
from rootbound_service.notes.units import water

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from rootbound_service.records import Units
    from rootbound_service.web.draw.shapes import Picture


def hover_data(picture: Picture, units: Units) -> list[str]:
    """Say what each day of a picture shows, from its first to its last.

    Parameters
    ----------
    picture
        The season.
    units
        The reader's.

    Returns
    -------
    list of str
        A line a day.
    """
    series = picture.series
    found: list[str] = []
    for i, day in enumerate(series.dates):
        parts = [_on(picture, day, units), f"rain {_told(series.rain_mm, i, units)}"]
        if picture.rated:
            parts.append(f"held roots {_told(series.held_water_mm, i, units)}")
        parts.append(f"free roots {_told(series.free_water_mm, i, units)}")
        found.append(", ".join(parts))
    for i, day in enumerate(series.ahead):
        low, high = (_told(one, i, units) for one in (series.held_low_mm, series.held_high_mm))
        free = _told(series.free_mid_mm, i, units)
        whose = "held roots" if picture.rated else "roots"
        day_words = _on(picture, day, units)
        found.append(f"{day_words}, outlook: {whose} {low} to {high}, free roots {free}")
    return found


def _on(picture: Picture, day: date, units: Units) -> str:
    """A day with the stage of the crop."""
    reached = [stage for stage, since in picture.stages if since <= day]
    return " ".join([say.short_day(day, units), *reached[-1:]])


def _told(values: NDArray[np.float64] | None, i: int, units: Units) -> str:
    if values is None or not np.isfinite(values[i]):
        return "not known"
    return water(float(values[i]), units)
