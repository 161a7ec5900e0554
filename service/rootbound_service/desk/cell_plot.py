"""One place's weather of the last months as a picture, over what is usual there."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from textwrap import shorten
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.desk.cell_days import where_words
from rootbound_service.notes import palette
from rootbound_service.notes.drawing import fixed_style, new_figure
from rootbound_service.weather.calendar_slots import slots_of
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import How
from rootbound_service.weather.normals import PERCENTILES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from rootbound_service.weather.normals import Normals
    from rootbound_service.weather.series import PlaceDays

DPI = 150
PANELS = (
    (("tmax_c", "tmin_c"), "temperature\n[°C]", 0.585, 0.28),
    (("rain_mm",), "rain\n[mm d⁻¹]", 0.41, 0.145),
    (("solar_mj",), "radiation\n[MJ m⁻² d⁻¹]", 0.235, 0.145),
    (("wind_m_s",), "wind at 2 m\n[m s⁻¹]", 0.06, 0.145),
)
LEFT, WIDTH = 0.10, 0.87
COLOURS = {"tmin_c": palette.FREE}
WORDS = {"tmax_c": "highest", "tmin_c": "lowest"}
LINE_LETTERS = 112
LEAST_RAIN_MM = 10.0
FIRM = (How.OBSERVED, How.MISSING)


def draw_cell(days: PlaceDays, normals: Normals | None, first: date, path: Path) -> None:
    """Draw a place from a day on to its last one.

    Parameters
    ----------
    days
        Of the place.
    normals
        What is usual there; None leaves the bands out.
    first
        First day shown.
    path
        The PNG; written over.
    """
    begin = min(max((first - days.weather.start).days, 0), len(days.weather) - 1)
    count = len(days.weather) - begin
    when = np.arange(count) + (days.weather.start + timedelta(days=begin)).toordinal()
    with fixed_style():
        figure = new_figure(8.0, 7.0)
        for names, label, bottom, height in PANELS:
            axes = figure.add_axes((LEFT, bottom, WIDTH, height))
            for name in names:
                _panel(axes, days, name, when, begin, normals)
            axes.set_ylabel(label, fontsize=9)
            axes.yaxis.set_label_coords(-0.062, 0.5)
            axes.set_xlim(float(when[0]) - 1, float(when[-1]) + 1)
            axes.spines[["top", "right"]].set_visible(False)
            axes.locator_params(axis="y", nbins=6 if len(names) > 1 else 4)
            axes.tick_params(labelsize=9, length=3, labelbottom=bottom == PANELS[-1][2])
            _months(axes, when)
        _heading(figure, days, when, banded=normals is not None)
        figure.savefig(path, dpi=DPI, facecolor=palette.PAPER, metadata={"Software": None})


def _heading(figure: Figure, days: PlaceDays, when: NDArray[np.int64], *, banded: bool) -> None:
    """What is shown, where its values come from, and what the signs mean."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    first, last = (date.fromordinal(int(one)) for one in when[[0, -1]])
    title = f"{days.place.key}, {where_words(*days.place.cell.centre)}"
    span = f"{first.day} {first:%b %Y} to {last.day} {last:%b %Y}"
    quiet: dict[str, Any] = {"fontsize": 9, "color": palette.QUIET, "parse_math": False}
    figure.text(LEFT, 0.968, title, fontsize=12, fontweight="bold", parse_math=False)
    figure.text(LEFT + WIDTH, 0.968, span, ha="right", **quiet)
    words = shorten(f"Last two weeks: {days.words}.", LINE_LETTERS, placeholder=" ...")
    figure.text(LEFT, 0.938, words, **quiet)
    signs: list[Line2D | Patch] = [
        Line2D([], [], color=_colour(name), lw=1.4, label=word) for name, word in WORDS.items()
    ]
    if banded:
        usual = "middle 80 % of past years"
        signs.append(Patch(facecolor=palette.QUIET, alpha=0.18, label=usual))
    if _filled(days, slice(None), when).any():
        ring: dict[str, Any] = {
            "marker": "o",
            "mfc": "none",
            "mec": palette.INK,
            "ms": 4.5,
            "mew": 0.8,
        }
        signs.append(Line2D([], [], ls="", label="not the source's own value", **ring))
    figure.legend(
        handles=signs, loc="upper left", bbox_to_anchor=(LEFT - 0.008, 0.93), ncols=len(signs),
        fontsize=8.5, frameon=False, handlelength=1.6, columnspacing=1.6, borderpad=0.2,
    )  # fmt: skip


def _panel(
    axes: Axes,
    days: PlaceDays,
    name: str,
    when: NDArray[np.int64],
    begin: int,
    normals: Normals | None,
) -> None:
    """One quantity: the band of what is usual, the values, a ring on each that was filled in."""
    row = QUANTITY_NAMES.index(name)
    values = days.composed.values[row, days.index, begin:]
    filled = _filled(days, row, when) & ~np.isnan(values)
    if name == "rain_mm":
        axes.bar(when, np.nan_to_num(values), width=1.0, color=palette.RAIN)
        axes.set_ylim(0, max(LEAST_RAIN_MM, 1.1 * float(np.nan_to_num(values).max())))
    else:
        if normals is not None:
            low, high = _band(normals, name, when)
            axes.fill_between(when, low, high, color=_colour(name), alpha=0.16, linewidth=0)
        axes.plot(when, values, color=_colour(name), linewidth=1.1)
    if filled.any():
        axes.scatter(
            when[filled], values[filled], s=16, facecolors="none", edgecolors=palette.INK,
            linewidths=0.8, zorder=3, clip_on=False,
        )  # fmt: skip


def _filled(days: PlaceDays, row: int | slice, when: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which of the days shown are not the source's own."""
    how = days.composed.how[row, days.index, -len(when) :]
    return np.asarray(~np.isin(how, FIRM), np.bool_)


def _colour(name: str) -> str:
    """Colour of a quantity's line."""
    return COLOURS.get(name, palette.HELD)


def _band(
    normals: Normals, name: str, when: NDArray[np.int64]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """10th and 90th percentile of the days shown."""
    slots = slots_of(date.fromordinal(int(when[0])), len(when))
    row = normals.quantities.index(name)
    low, high = (normals.percentiles[PERCENTILES.index(one), row, 0, slots] for one in (10, 90))
    return low, high


def _months(axes: Axes, when: NDArray[np.int64]) -> None:
    """Ticks on the first of each month."""
    days = [date.fromordinal(int(one)) for one in when]
    firsts = [day for day in days if day.day == 1]
    axes.set_xticks([day.toordinal() for day in firsts], [f"{day:%b}" for day in firsts])
