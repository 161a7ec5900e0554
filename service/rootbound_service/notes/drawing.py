"""Strokes that note chart and small multiples share: rain strip, twins, outlook, today."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.notes import palette
from rootbound_service.notes.speech import say
from rootbound_service.notes.units import to_units

if TYPE_CHECKING:
    from collections.abc import Iterator
    from contextlib import AbstractContextManager

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from rootbound_service.notes.facts import SeasonSeries
    from rootbound_service.records import Units

DPI = 110
COLOURS = 48
"""Enough for our few colours and the edges between them."""
_TICK: dict[str, Any] = {"fontsize": 9.5, "color": palette.QUIET}
AHEAD_DAYS = 28
"""The outlook is drawn so far ahead; later days show the climate, not this field. [d]"""

_STYLE: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],
    "figure.facecolor": palette.PAPER,
    "axes.facecolor": palette.PAPER,
    "axes.edgecolor": palette.RULE,
    "axes.linewidth": 0.8,
    "text.color": palette.INK,
    "xtick.color": palette.QUIET,
    "ytick.color": palette.QUIET,
    "path.simplify": True,
}


def fixed_style() -> AbstractContextManager[None]:
    """Return matplotlib's own defaults with ours on top, whatever the machine's settings are."""
    from matplotlib import style

    return style.context(["default", _STYLE])


def new_figure(width_in: float, height_in: float) -> Figure:
    """Return an empty figure without any window behind it; sizes in inches."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in), dpi=DPI)
    FigureCanvasAgg(figure)
    return figure


def png_bytes(figure: Figure) -> bytes:
    """Return the figure as PNG: opaque, a third of the size by a palette, always the same bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image

    figure.set_facecolor(palette.PAPER)
    canvas: Any = FigureCanvasAgg(figure)
    out = io.BytesIO()
    canvas.draw()
    picture = Image.fromarray(np.asarray(canvas.buffer_rgba())).convert("RGB")
    flat = picture.quantize(COLOURS, dither=Image.Dither.NONE)
    flat.save(out, "PNG", compress_level=8)  # 9 takes twice as long for two hundredths
    return out.getvalue()


def ordinals(series: SeasonSeries) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Day numbers of the known days and of the days ahead that are drawn."""
    known = np.array([when.toordinal() for when in series.dates], dtype=np.int64)
    ahead = np.array([when.toordinal() for when in series.ahead[:AHEAD_DAYS]], dtype=np.int64)
    return known, ahead


def rain_strip(axes: Axes, series: SeasonSeries) -> None:
    """Rain bars in a strip of their own, scaled to the season's wettest day."""
    known, _ = ordinals(series)
    rain = np.nan_to_num(series.rain_mm)
    # One outline of all bars: a bar a day is a hundred shapes, and slow to draw.
    axes.fill_between(known, rain, step="mid", color=palette.RAIN, linewidth=0)
    axes.set_ylim(0, max(float(rain.max(initial=0.0)), 10.0) * 1.05)
    axes.set_yticks([])
    axes.tick_params(bottom=False, labelbottom=False)
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)


def reach_strip(axes: Axes, series: SeasonSeries, *, held: bool) -> None:
    """Share of the rooted soil within reach, from none at the foot to all at the top."""
    known, ahead = ordinals(series)
    axes.set_ylim(0.0, 1.0)
    axes.axhline(1.0, color=palette.RULE, linewidth=0.8)
    if held and series.reach is not None:
        axes.fill_between(known, series.reach, color=palette.HELD, alpha=0.75, linewidth=0)
        if series.reach_ahead is not None and ahead.size:
            later = series.reach_ahead[: ahead.size]
            axes.fill_between(ahead, later, color=palette.HELD, alpha=0.25, linewidth=0)
    axes.set_yticks([])
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)


def rain_on_top(axes: Axes, series: SeasonSeries, share: float) -> None:
    """Rain in the top ``share`` of the twins' own axes: one panel, half the time to draw."""
    known, _ = ordinals(series)
    rain = np.nan_to_num(series.rain_mm)
    low, high = axes.get_ylim()
    axes.set_ylim(low, low + (high - low) / (1.0 - 1.1 * share))
    scaled = rain / (max(float(rain.max(initial=0.0)), 10.0) * 1.05)
    axes.fill_between(
        known,
        1.0 - share,
        1.0 - share + share * scaled,
        step="mid",
        color=palette.RAIN,
        linewidth=0,
        transform=axes.get_xaxis_transform(),
    )
    floor = [1.0 - share, 1.0 - share]
    axes.plot(
        axes.get_xlim(),
        floor,
        color=palette.RULE,
        linewidth=0.8,
        transform=axes.get_xaxis_transform(),
        scalex=False,
        scaley=False,
    )


def twins(
    axes: Axes, series: SeasonSeries, units: Units, *, width: float, held: bool, room: float
) -> None:
    """Both twins, the outlook band, the stress line and today.

    ``held`` false leaves the held twin out, for a field without a dig; ``room`` is the
    share of the height kept free under the stress line.
    """
    known, ahead = ordinals(series)
    if ahead.size:
        _outlook(axes, series, ahead, units, width if held else 0.0)
        axes.axvline(float(known[-1]), color=palette.QUIET, linewidth=0.9)
    axes.axhline(0.0, color=palette.INK, linewidth=1.3)
    axes.plot(known, _shown(series.free_water_mm, units), color=palette.FREE, ls="--", lw=width)
    if held:
        axes.plot(known, _shown(series.held_water_mm, units), color=palette.HELD, lw=width + 0.4)
    last = ahead[-1] if ahead.size else known[-1]
    axes.set_xlim(float(known[0]) - 0.5, float(last) + 0.5)
    axes.set_ylim(*_limits(series, units, room))
    for side in ("right", "top"):
        axes.spines[side].set_visible(False)


def _outlook(
    axes: Axes, series: SeasonSeries, ahead: NDArray[np.int64], units: Units, width: float
) -> None:
    """Band from low to high and the middles of the twins; ``width`` 0: no held middle."""
    few = ahead.size
    if series.held_low_mm is not None and series.held_high_mm is not None:
        low = _shown(series.held_low_mm[:few], units)
        high = _shown(series.held_high_mm[:few], units)
        axes.fill_between(ahead, low, high, color=palette.HELD, alpha=0.18, linewidth=0)
    if series.held_mid_mm is not None and width:
        held = _shown(series.held_mid_mm[:few], units)
        axes.plot(ahead, held, color=palette.HELD, lw=width * 0.6)
    if series.free_mid_mm is not None:
        free = _shown(series.free_mid_mm[:few], units)
        axes.plot(ahead, free, color=palette.FREE, ls="--", lw=(width or 1.6) * 0.6)


def _shown(values_mm: NDArray[np.float64], units: Units) -> NDArray[np.float64]:
    """Water in the reader's unit, never below the stress line."""
    scale = to_units(1.0, units)
    return np.maximum(values_mm, 0.0) * scale


def _limits(series: SeasonSeries, units: Units, room: float) -> tuple[float, float]:
    """Y limits with a little room under the stress line."""
    drawn = [series.held_water_mm, series.free_water_mm]
    drawn += [v[:AHEAD_DAYS] for v in (series.held_high_mm, series.free_mid_mm) if v is not None]
    top = max(10.0, *(float(np.nanmax(values, initial=0.0)) for values in drawn))
    return to_units(-room * top, units), to_units(1.08 * top, units)


def light_ticks(axes: Axes, series: SeasonSeries) -> None:
    """Months below and two depths of water at the left, as plain text.

    matplotlib's own ticks cost half the time of a picture with many panels.
    """
    axes.xaxis.set_visible(False)
    axes.yaxis.set_visible(False)
    for day, name in month_ticks(series):
        axes.text(
            day, -0.06, name, transform=axes.get_xaxis_transform(), ha="center", va="top", **_TICK
        )
    most = _round_down(0.72 * axes.get_ylim()[1])
    for depth, word in ((0.0, "0"), (most, f"{most:g}")):
        axes.text(
            -0.015, depth, word, transform=axes.get_yaxis_transform(), ha="right", va="center",
            **_TICK,
        )  # fmt: skip


def _round_down(value: float) -> float:
    """A round number at or under ``value``: 1, 2 or 5 times a power of ten."""
    scale = 10.0 ** np.floor(np.log10(value))
    return float(max(step for step in (1.0, 2.0, 5.0) if step * scale <= value) * scale)


def month_ticks(series: SeasonSeries) -> Iterator[tuple[int, str]]:
    """First days of the months drawn, with their short names."""
    for when in (*series.dates, *series.ahead[:AHEAD_DAYS]):
        if when.day == 1:
            yield when.toordinal(), say.month(when.month)
