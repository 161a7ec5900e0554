"""Small multiples for the digest: a small picture a field, all of one size and one set of axes."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from rootbound_service.notes import drawing, palette
from rootbound_service.notes.letter import Picture
from rootbound_service.notes.speech import say, spoken

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.figure import Figure

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units

DRAWN = ("watched", "unrated")
WIDTH_PX, HEIGHT_PX = 330, 170
_WIDTH_IN, _HEIGHT_IN = 3.0, 1.55
_LEFT, _BOTTOM, _WIDE, _TALL = 0.11, 0.19, 0.85, 0.58
"""Where the axes lie in a panel, as shares of it."""
_TITLE = 0.85
"""Height of the title's foot, as a share of the panel."""
_NAME_PT = (11.0, 10.0, 9.0)
_NAME_LENGTH, _GAP_PX = 40, 13
"""No more letters of a name are tried; so much is free before the rung."""
_RAIN_SHARE = 0.19
"""Share of the axes' height, at its top, that the rain takes."""


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
    with drawing.fixed_style():
        figure = drawing.new_figure(_WIDTH_IN, _HEIGHT_IN)
        main = figure.add_axes((_LEFT, _BOTTOM, _WIDE, _TALL))
        held = facts.status == "watched"
        drawing.twins(main, series, units, width=1.6, held=held, room=0.05)
        drawing.rain_on_top(main, series, _RAIN_SHARE)
        drawing.light_ticks(main, series)
        _title(figure, facts)
        return drawing.png_bytes(figure)


def _title(figure: Figure, facts: FieldFacts) -> None:
    """Write the rung at the right on its colour, and as much of the name as has room beside it."""
    watched = facts.status == "watched" and facts.rung is not None
    rung = figure.text(
        _LEFT + _WIDE,
        _TITLE,
        say.status_label(facts),
        fontsize=10,
        ha="right",
        color=palette.RUNG_TEXT[facts.rung or 0] if watched else palette.QUIET,
        bbox={
            "boxstyle": "round,pad=0.25",
            "facecolor": palette.RUNG_FILL[facts.rung or 0] if watched else palette.PAPER,
            "edgecolor": palette.RUNG_FILL[facts.rung or 0] if watched else palette.QUIET,
            "linestyle": "solid" if watched else "dashed",
            "linewidth": 0.8,
        },
    )
    # the extent is that of the letters alone, without the colour around them
    _name(figure, facts.field_name, rung.get_window_extent().x0 - _GAP_PX)


def _name(figure: Figure, name: str, room: float) -> None:
    """Write a name up to a pixel: smaller before it is cut, for its end tells fields apart."""
    text = figure.text(_LEFT, _TITLE, name, fontweight="bold", parse_math=False)
    for size in _NAME_PT:
        text.set_fontsize(size)
        if text.get_window_extent().x1 <= room:
            return
    for letters in range(min(len(name) - 1, _NAME_LENGTH), 0, -1):
        text.set_text(f"{name[:letters].rstrip()}\u2026")
        if text.get_window_extent().x1 <= room:
            return
