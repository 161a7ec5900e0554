"""The picture in a note: one field's season, both twins, rain, outlook, stress line."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from rootbound_service.notes import palette, strokes
from rootbound_service.notes.box import Box
from rootbound_service.notes.drawing import fixed_style
from rootbound_service.notes.inks import BAND
from rootbound_service.notes.lettering import Hand, extent
from rootbound_service.notes.sheet import Sheet
from rootbound_service.notes.speech import say, spoken
from rootbound_service.notes.units import unit_name

if TYPE_CHECKING:
    from rootbound_service.notes.facts import SeasonSeries
    from rootbound_service.records import Units

WIDTH_PX, HEIGHT_PX = 660, 308
_TEXT_PT = 12.5
"""Eight pixels high on a 320 px phone."""
_SMALL = Hand(_TEXT_PT - 2, palette.INK)
_LEFT, _WIDE = 0.085, 0.895
"""Where the three strips lie, as shares of the width."""
_RAIN, _WATER, _REACH = (0.755, 0.13), (0.305, 0.435), (0.105, 0.125)
"""Foot and height of each, as shares of the height."""
_ROOM = 0.2
"""Share of the water's height kept for words under the stress line."""
_TICK_PX = 4


def note_chart(series: SeasonSeries, units: Units, *, held: bool = True) -> bytes:
    """Draw one field's season.

    Parameters
    ----------
    series
        The season so far and the outlook.
    units
        The reader's units.
    held
        Whether the held twin is drawn; not for a field without a dig.

    Returns
    -------
    bytes
        A PNG of 660 x 308 pixels; the same bytes for the same series.
    """
    return _drawn(series, units, held, spoken())


@lru_cache(maxsize=64)  # grower and adviser get the same picture in one night
def _drawn(series: SeasonSeries, units: Units, held: bool, language: str) -> bytes:  # noqa: FBT001 - a key
    """Draw it once a language."""
    del language  # the labels follow it
    with fixed_style():
        sheet = Sheet(WIDTH_PX, HEIGHT_PX)
        days = strokes.across(series)
        strip = Box(sheet, _place(_RAIN), days, (0.0, 1.0))
        main = Box(sheet, _place(_WATER), days, strokes.depths(series, units, _ROOM))
        foot = Box(sheet, _place(_REACH), days, (0.0, 1.0))
        strokes.rain(strip, series, 0.0, 1.0)
        strokes.twins(main, series, units, width=2.0, held=held)
        strokes.reach(foot, series, held=held)
        _key(sheet, held=held)
        _labels(main, series, units)
        _foot(foot, series, held=held)
        return sheet.png()


def _place(strip: tuple[float, float]) -> tuple[float, float, float, float]:
    """Where a strip lies on the sheet, in shares."""
    return _LEFT, strip[0], _WIDE, strip[1]


def _key(sheet: Sheet, *, held: bool) -> None:
    """Name the lines above the picture, in their colours."""
    hand, wide = Hand(_TEXT_PT - 0.5, palette.INK), 28.0
    x, y = 0.093 * sheet.width, 0.935 * sheet.height
    for word in ("held", "free", "outlook", "rain")[0 if held else 1 :]:
        if word in {"held", "free"}:
            colour = palette.HELD if word == "held" else palette.FREE
            width = 2.6 if word == "held" else 2.2
            sheet.stroke([(x, y), (x + wide, y)], colour, width, dashed=word == "free")
        else:
            patch = [(x, y - 6), (x + wide, y - 6), (x + wide, y + 7), (x, y + 7)]
            band = word == "outlook"
            sheet.fill(patch, palette.HELD if band else palette.RAIN, BAND if band else 1.0)
        name = say.CHART[word]
        sheet.words(x + wide + 9, y, name, hand, up="center")
        x += wide + 33 + extent(name, hand)[0]


def _labels(main: Box, series: SeasonSeries, units: Units) -> None:
    """Depths, unit, the last real day and the stress line, in few words."""
    sheet, quiet = main.sheet, Hand(_TEXT_PT - 1, palette.QUIET)
    main.upright(main.across[0], palette.RULE, strokes.EDGE_PT)
    main.level(main.up[0], palette.RULE, strokes.EDGE_PT)
    for depth in _depths(*main.up):
        y, beside = main.y(depth), main.left - _TICK_PX
        sheet.stroke([(beside, y), (main.left, y)], palette.QUIET, strokes.EDGE_PT)
        sheet.words(beside - _TICK_PX, y, f"{depth:g}", quiet, across="right", up="center")
    sheet.words(main.left + 5, main.top, unit_name(units), quiet, up="top")
    sheet.words(main.left + 6, main.y(0.0) - 3, say.CHART["stress"], _SMALL, up="top")
    if series.ahead:
        today = main.x(series.dates[-1].toordinal())
        sheet.words(today + 6, main.top, say.CHART["today"], quiet, up="top")


def _depths(low: float, high: float) -> list[float]:
    """Round depths from none to the highest that is drawn."""
    from matplotlib.ticker import MaxNLocator

    found = MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    return [float(value) for value in found if 0.0 <= value <= high]


def _foot(foot: Box, series: SeasonSeries, *, held: bool) -> None:
    """Months, and in words what the strip over them shows."""
    sheet, quiet = foot.sheet, Hand(_TEXT_PT - 1, palette.QUIET)
    for day, name in strokes.month_ticks(series):
        x, under = foot.x(day), foot.bottom - _TICK_PX
        sheet.stroke([(x, foot.bottom), (x, under)], palette.QUIET, strokes.EDGE_PT)
        sheet.words(x, under - _TICK_PX, name, quiet, across="center", up="top")
    known = "reach" if series.reach is not None else "unknown_reach"
    told = say.CHART[known if held else "no_reach"]
    sheet.words(foot.left + 6, foot.top + 3, told, _SMALL, up="bottom")
