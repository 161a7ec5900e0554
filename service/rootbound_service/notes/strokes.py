"""Strokes that note chart and small multiples share: rain, twins, outlook, today, months."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes import palette
from rootbound_service.notes.inks import BAND, REACHED, REACHED_AHEAD
from rootbound_service.notes.speech import say
from rootbound_service.notes.units import to_units

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from rootbound_service.notes.box import Box
    from rootbound_service.notes.facts import SeasonSeries
    from rootbound_service.records import Units

AHEAD_DAYS = 28
"""The outlook is drawn so far ahead; later days show the climate, not this field. [d]"""
EDGE_PT, TODAY_PT, STRESS_PT = 0.8, 0.9, 1.3
LEAST_RAIN_MM = 10.0
"""A season without a wetter day is not drawn as if it were wet. [mm]"""


def ordinals(series: SeasonSeries) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Day numbers of the known days and of the days ahead that are drawn."""
    known = np.array([when.toordinal() for when in series.dates], dtype=np.int64)
    ahead = np.array([when.toordinal() for when in series.ahead[:AHEAD_DAYS]], dtype=np.int64)
    return known, ahead


def across(series: SeasonSeries) -> tuple[float, float]:
    """First and last day drawn, with half a day beside each."""
    known, ahead = ordinals(series)
    last = ahead[-1] if ahead.size else known[-1]
    return float(known[0]) - 0.5, float(last) + 0.5


def rain(box: Box, series: SeasonSeries, foot: float, top: float) -> None:
    """Draw rain from day to day, scaled to the season's wettest.

    Parameters
    ----------
    box
        Where.
    series
        The season.
    foot, top
        Numbers of the box between which the bars stand.
    """
    known, _ = ordinals(series)
    fell = np.nan_to_num(series.rain_mm)
    most = max(float(fell.max(initial=0.0)), LEAST_RAIN_MM) * 1.05
    box.bars(known, foot, foot + (top - foot) * fell / most, palette.RAIN)
    box.level(foot, palette.RULE, EDGE_PT)


def reach(box: Box, series: SeasonSeries, *, held: bool) -> None:
    """Draw the share of the rooted soil within reach, from none at the foot to all at the top."""
    known, ahead = ordinals(series)
    box.level(1.0, palette.RULE, EDGE_PT)
    if held and series.reach is not None:
        box.area(known, 0.0, series.reach, palette.HELD, REACHED)
        if series.reach_ahead is not None and ahead.size:
            box.area(ahead, 0.0, series.reach_ahead[: ahead.size], palette.HELD, REACHED_AHEAD)
    box.level(0.0, palette.RULE, EDGE_PT)


def twins(box: Box, series: SeasonSeries, units: Units, *, width: float, held: bool) -> None:
    """Draw both twins, the outlook band, the stress line and today.

    Parameters
    ----------
    box
        With :func:`across` and :func:`depths` along its sides.
    series
        The season.
    units
        The reader's.
    width
        Of the lines. [pt]
    held
        False leaves the held twin out, for a field without a dig.
    """
    known, ahead = ordinals(series)
    if ahead.size:
        _outlook(box, series, ahead, units, width if held else 0.0)
        box.upright(float(known[-1]), palette.QUIET, TODAY_PT)
    box.level(0.0, palette.INK, STRESS_PT)
    free = _shown(series.free_water_mm, units)
    box.line(known, free, palette.FREE, width, dashed=True)
    if held:
        box.line(known, _shown(series.held_water_mm, units), palette.HELD, width + 0.4)


def _outlook(
    box: Box, series: SeasonSeries, ahead: NDArray[np.int64], units: Units, width: float
) -> None:
    """Band from low to high and the middles of the twins; ``width`` 0: no held middle."""
    few = ahead.size
    if series.held_low_mm is not None and series.held_high_mm is not None:
        low = _shown(series.held_low_mm[:few], units)
        box.area(ahead, low, _shown(series.held_high_mm[:few], units), palette.HELD, BAND)
    if series.held_mid_mm is not None and width:
        box.line(ahead, _shown(series.held_mid_mm[:few], units), palette.HELD, width * 0.6)
    if series.free_mid_mm is not None:
        free = _shown(series.free_mid_mm[:few], units)
        box.line(ahead, free, palette.FREE, (width or 1.6) * 0.6, dashed=True)


def _shown(values_mm: NDArray[np.float64], units: Units) -> NDArray[np.float64]:
    """Water in the reader's unit, never below the stress line."""
    scale = to_units(1.0, units)
    return np.maximum(values_mm, 0.0) * scale


def depths(series: SeasonSeries, units: Units, room: float) -> tuple[float, float]:
    """Depths of water between which the twins are drawn.

    Parameters
    ----------
    series
        The season.
    units
        The reader's.
    room
        Share of the height kept free under the stress line.
    """
    drawn = [series.held_water_mm, series.free_water_mm]
    drawn += [v[:AHEAD_DAYS] for v in (series.held_high_mm, series.free_mid_mm) if v is not None]
    top = max(10.0, *(float(np.nanmax(values, initial=0.0)) for values in drawn))
    return to_units(-room * top, units), to_units(1.08 * top, units)


def month_ticks(series: SeasonSeries) -> Iterator[tuple[int, str]]:
    """First days of the months drawn, with their short names."""
    for when in (*series.dates, *series.ahead[:AHEAD_DAYS]):
        if when.day == 1:
            yield when.toordinal(), say.month(when.month)
