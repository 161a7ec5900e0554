"""The picture in a note: one field's season, both twins, rain, outlook, stress line."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from rootbound_service.notes import drawing, palette
from rootbound_service.notes.speech import say, spoken
from rootbound_service.notes.units import unit_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from rootbound_service.notes.facts import SeasonSeries
    from rootbound_service.records import Units

_TEXT_PT = 12.5
"""Eight pixels high on a 320 px phone."""


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
    with drawing.fixed_style():
        figure = drawing.new_figure(6.0, 2.8)
        strip = figure.add_axes((0.085, 0.755, 0.895, 0.13))
        main = figure.add_axes((0.085, 0.305, 0.895, 0.435))
        foot = figure.add_axes((0.085, 0.105, 0.895, 0.125))
        drawing.rain_strip(strip, series)
        drawing.twins(main, series, units, width=2.0, held=held, room=0.2)
        drawing.reach_strip(foot, series, held=held)
        for one in (strip, foot):
            one.set_xlim(main.get_xlim())
        _key(figure, held=held)
        _labels(main, strip, series, units)
        _foot(foot, series, held=held)
        return drawing.png_bytes(figure)


def _key(figure: Figure, *, held: bool) -> None:
    """Name the lines above the picture, in their colours."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles = [
        Line2D([], [], color=palette.HELD, lw=2.6, label=say.CHART["held"]),
        Line2D([], [], color=palette.FREE, lw=2.2, ls="--", label=say.CHART["free"]),
        Patch(color=palette.HELD, alpha=0.18, linewidth=0, label=say.CHART["outlook"]),
        Patch(color=palette.RAIN, linewidth=0, label=say.CHART["rain"]),
    ]
    figure.legend(
        handles=handles if held else handles[1:],
        loc="upper left",
        bbox_to_anchor=(0.07, 1.015),
        ncols=4,
        frameon=False,
        fontsize=_TEXT_PT - 0.5,
        handlelength=1.5,
        handletextpad=0.5,
        columnspacing=1.3,
    )


def _labels(main: Axes, strip: Axes, series: SeasonSeries, units: Units) -> None:
    """Months, unit, the last real day and the stress line, in few words."""
    main.set_xticks([])
    strip.set_xticks([])
    main.tick_params(labelsize=_TEXT_PT - 1, length=3, pad=2)
    main.locator_params(axis="y", nbins=4)
    left, right = main.get_xlim()
    top = main.get_ylim()[1]
    main.text(
        left + 0.008 * (right - left), top, unit_name(units), fontsize=_TEXT_PT - 1,
        color=palette.QUIET, va="top",
    )  # fmt: skip
    main.annotate(
        say.CHART["stress"], (left, 0.0), xytext=(4, -2), textcoords="offset points",
        fontsize=_TEXT_PT - 2, color=palette.INK, va="top",
    )  # fmt: skip
    if series.ahead:
        today = series.dates[-1].toordinal()
        main.annotate(
            say.CHART["today"], (today, top), xytext=(4, 0), textcoords="offset points",
            fontsize=_TEXT_PT - 1, color=palette.QUIET, va="top",
        )  # fmt: skip


def _foot(foot: Axes, series: SeasonSeries, *, held: bool) -> None:
    """Months, and in words what the strip over them shows."""
    ticks = list(drawing.month_ticks(series))
    foot.set_xticks([tick for tick, _ in ticks], [name for _, name in ticks])
    foot.tick_params(labelsize=_TEXT_PT - 1, length=3, pad=2)
    known = "reach" if series.reach is not None else "unknown_reach"
    told = say.CHART[known if held else "no_reach"]
    foot.annotate(
        told, (0.0, 1.0), xycoords="axes fraction", xytext=(4, 2), textcoords="offset points",
        fontsize=_TEXT_PT - 2, color=palette.INK, va="bottom",
    )  # fmt: skip
