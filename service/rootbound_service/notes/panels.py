"""Small multiples for the digest: up to twelve fields in one picture, two to a row."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rootbound_service.notes import drawing, palette
from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Units

MOST = 12
DRAWN = ("watched", "unrated")
COLUMNS = 2
_ROW_IN = 1.55
_WIDTH_IN = 6.0
_NAME_LENGTH = 19
_RAIN_SHARE = 0.19
"""Share of a panel's height, at its top, that the rain takes."""


def with_picture(fields: Sequence[FieldFacts], most: int = MOST) -> tuple[FieldFacts, ...]:
    """Return the first fields, in their order, whose season is worth a picture.

    A crop too young for stress to count, or already mature, would only show an empty panel.
    """
    shown = (f for f in fields if f.series is not None and f.water_in_reach_mm is not None)
    return tuple(facts for facts in shown if facts.status in DRAWN)[:most]


def panels_chart(fields: Sequence[FieldFacts], units: Units) -> bytes:
    """Draw the seasons of several fields.

    Parameters
    ----------
    fields
        Fields with a series, as :func:`with_picture` returns them.
    units
        The reader's units.

    Returns
    -------
    bytes
        A PNG 660 pixels wide; the same bytes for the same fields.
    """
    rows = math.ceil(len(fields) / COLUMNS)
    height = rows * _ROW_IN
    with drawing.fixed_style():
        figure = drawing.new_figure(_WIDTH_IN, height)
        for place, facts in enumerate(fields):
            _panel(figure, facts, place, rows, units)
        return drawing.png_bytes(figure)


def _panel(figure: Figure, facts: FieldFacts, place: int, rows: int, units: Units) -> None:
    """Draw one field: name and rung, rain strip, twins."""
    series = facts.series
    if series is None:
        return
    row, column = divmod(place, COLUMNS)
    tall, left = 1.0 / rows, 0.055 + 0.5 * column
    bottom = 1.0 - (row + 1) * tall
    main = figure.add_axes((left, bottom + 0.19 * tall, 0.425, 0.58 * tall))
    held = facts.status == "watched"
    drawing.twins(main, series, units, width=1.6, held=held, room=0.05)
    drawing.rain_on_top(main, series, _RAIN_SHARE)
    drawing.light_ticks(main, series)
    _title(figure, facts, left, bottom + 0.85 * tall)


def _title(figure: Figure, facts: FieldFacts, left: float, height: float) -> None:
    """Write the field's name and, at the right, its rung on the rung's colour."""
    name = facts.field_name
    short = name if len(name) <= _NAME_LENGTH else f"{name[: _NAME_LENGTH - 1]}\u2026"
    figure.text(left, height, short, fontsize=11, fontweight="bold", parse_math=False)
    watched = facts.status == "watched" and facts.rung is not None
    figure.text(
        left + 0.425,
        height,
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


def panels_alt(fields: Sequence[FieldFacts], units: Units) -> str:
    """Return the numbers of every panel, for readers who do not see the picture."""
    return say.panels_alt([say.chart_alt(facts, units) for facts in fields])
