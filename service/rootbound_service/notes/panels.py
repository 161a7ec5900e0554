"""Small multiples for the digest: a small picture a field, all of one size and one set of axes."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes import palette, strokes
from rootbound_service.notes.box import Box
from rootbound_service.notes.drawing import fixed_style
from rootbound_service.notes.letter import Picture
from rootbound_service.notes.lettering import Hand, extent, rounded
from rootbound_service.notes.sheet import Sheet
from rootbound_service.notes.speech import say, spoken

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from rootbound_service.notes.facts import FieldFacts, SeasonSeries
    from rootbound_service.records import Units

DRAWN = ("watched", "unrated")
WIDTH_PX, HEIGHT_PX = 330, 170
_LEFT, _BOTTOM, _WIDE, _TALL = 0.11, 0.19, 0.85, 0.58
"""Where the axes lie in a panel, as shares of it."""
_TITLE = 0.85
"""Height of the title's foot, as a share of the panel."""
_RUNG_PT = 10.0
_TICK = Hand(9.5, palette.QUIET)
_NAME_PT = (11.0, 10.0, 9.0)
_NAME_LENGTH, _GAP_PX = 40, 13
"""No more letters of a name are tried; so much is free before the rung."""
_RAIN_SHARE = 0.19
"""Share of the axes' height, at its top, that the rain takes."""
_ROOM = 0.05
"""Share of the height kept free under the stress line."""


def with_picture(fields: Sequence[FieldFacts], most: int) -> tuple[FieldFacts, ...]:
    """Return the first fields, in their order, whose season is worth a picture.

    A crop too young for stress to count, or already mature, would only show an empty panel.
    """
    shown = (f for f in fields if f.series is not None and f.water_in_reach_mm is not None)
    return tuple(facts for facts in shown if facts.status in DRAWN)[:most]


def panels(
    fields: Sequence[FieldFacts], units: Units, address: Callable[[FieldFacts, bytes], str]
) -> tuple[Picture, ...]:
    """Draw the season of each field.

    Parameters
    ----------
    fields
        Fields with a series, as :func:`with_picture` returns them.
    units
        The reader's units.
    address
        By what a letter or a page names a picture, of its field and its PNG.

    Returns
    -------
    tuple of Picture
        In their order; the numbers of each stand in words beside it.
    """
    return tuple(
        Picture(address(facts, panel(facts, units)), say.chart_alt(facts, units))
        for facts in fields
    )


def panel(facts: FieldFacts, units: Units) -> bytes:
    """Draw one field's season: name and rung, rain, both twins.

    Parameters
    ----------
    facts
        A field with a series.
    units
        The reader's units.

    Returns
    -------
    bytes
        A PNG of 330 x 170 pixels; the same bytes for the same field.

    Raises
    ------
    ValueError
        If the field has no series.
    """
    return _drawn(facts, units, spoken())


@lru_cache(maxsize=512)  # a letter and its page show the same ones
def _drawn(facts: FieldFacts, units: Units, language: str) -> bytes:
    """Draw it once a language."""
    del language  # the rung's word follows it
    series = facts.series
    if series is None:
        raise ValueError(f"field {facts.field_id} has no season to draw")
    with fixed_style():
        sheet = Sheet(WIDTH_PX, HEIGHT_PX)
        low, high = strokes.depths(series, units, _ROOM)
        over = low + (high - low) / (1.0 - 1.1 * _RAIN_SHARE)
        place = (_LEFT, _BOTTOM, _WIDE, _TALL)
        main = Box(sheet, place, strokes.across(series), (low, over))
        strokes.twins(main, series, units, width=1.6, held=facts.status == "watched")
        strokes.rain(main, series, over - _RAIN_SHARE * (over - low), over)
        _ticks(main, series)
        _title(sheet, facts)
        return sheet.png()


def _ticks(main: Box, series: SeasonSeries) -> None:
    """Write months below and two depths of water at the left."""
    main.upright(main.across[0], palette.RULE, strokes.EDGE_PT)
    main.level(main.up[0], palette.RULE, strokes.EDGE_PT)
    for day, name in strokes.month_ticks(series):
        under = main.bottom - 0.06 * (main.top - main.bottom)
        main.sheet.words(main.x(day), under, name, _TICK, across="center", up="top")
    most = _round_down(0.72 * main.up[1])
    for depth, word in ((0.0, "0"), (most, f"{most:g}")):
        beside = main.left - 0.015 * (main.right - main.left)
        main.sheet.words(beside, main.y(depth), word, _TICK, across="right", up="center")


def _round_down(value: float) -> float:
    """Give a round number at or under ``value``: 1, 2 or 5 times a power of ten."""
    scale = 10.0 ** np.floor(np.log10(value))
    return float(max(step for step in (1.0, 2.0, 5.0) if step * scale <= value) * scale)


def _title(sheet: Sheet, facts: FieldFacts) -> None:
    """Write the rung at the right on its colour, and as much of the name as has room beside it."""
    watched, base = facts.status == "watched" and facts.rung is not None, _TITLE * sheet.height
    fill = palette.RUNG_FILL[facts.rung or 0] if watched else palette.PAPER
    ink = palette.RUNG_TEXT[facts.rung or 0] if watched else palette.QUIET
    label, right = say.status_label(facts), (_LEFT + _WIDE) * sheet.width
    hand = Hand(_RUNG_PT, ink)
    wide, tall, deep = extent(label, hand)
    left = right - wide
    outline = rounded((left, base - deep, wide, tall), _RUNG_PT)
    sheet.fill(outline, fill)
    sheet.stroke(outline, fill if watched else ink, strokes.EDGE_PT, dashed=not watched)
    sheet.words(left, base, label, hand)
    _name(sheet, facts.field_name, base, left - _GAP_PX)


def _name(sheet: Sheet, name: str, base: float, room: float) -> None:
    """Write a name up to a pixel: smaller before it is cut, for its end tells fields apart."""
    left = _LEFT * sheet.width
    hands = [Hand(size, palette.INK, bold=True) for size in _NAME_PT]
    longest = min(len(name) - 1, _NAME_LENGTH)
    cut = [(f"{name[:n].rstrip()}\u2026", hands[-1]) for n in range(longest, 0, -1)]
    tried = [(name, hand) for hand in hands] + cut
    fits = (one for one in tried if left + extent(*one)[0] <= room)
    sheet.words(left, base, *next(fits, tried[-1]))
