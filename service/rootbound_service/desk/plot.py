"""A trace as one picture that reads well in print: both twins, rain, stages, stress."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_rules.crop.words import crop_words
from rootbound_service.desk.season_file import stress_begins
from rootbound_service.notes import palette
from rootbound_service.notes.drawing import fixed_style, new_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from rootbound_rules.season.trace_day import TraceDay

PRINT_DPI = 150


def draw_trace(days: Sequence[TraceDay], name: str, path: Path, crop: str = "maize") -> None:
    """Draw a trace from planting to a little after maturity.

    Parameters
    ----------
    days
        From ``rootbound_rules.season.trace.run_trace``.
    name
        The field's name, for the title.
    path
        The PNG; written over.
    crop
        Whose stages part the picture into bands.
    """
    words = crop_words(crop)
    shown = _from_planting(days, words.mature)
    bands = _stage_starts(shown, words.shown)
    when = [day.date.toordinal() for day in shown]
    with fixed_style():
        figure = new_figure(8.0, 6.2)
        rain = figure.add_axes((0.09, 0.80, 0.83, 0.11))
        water = figure.add_axes((0.09, 0.36, 0.83, 0.42), sharex=rain)
        stress = figure.add_axes((0.09, 0.07, 0.83, 0.25), sharex=rain)
        _rain(rain, when, shown)
        _water(water, when, shown)
        _stress(stress, when, shown, stress_begins(crop))
        for axes in (rain, water, stress):
            _stage_lines(axes, bands, shown[-1].date.toordinal())
            axes.spines[["top", "right"]].set_visible(False)
            axes.tick_params(labelsize=9, length=3)
        for axes in (rain, water):
            axes.tick_params(labelbottom=False)
        _stage_names(rain, bands)
        _months(stress, shown)
        title = f"{name}: {shown[0].date:%d %b %Y} to {shown[-1].date:%d %b %Y}"
        figure.text(0.09, 0.965, title, fontsize=12, fontweight="bold", parse_math=False)
        figure.savefig(path, dpi=PRINT_DPI, facecolor=palette.PAPER, metadata={"Software": None})


def _from_planting(days: Sequence[TraceDay], mature_stage: str) -> list[TraceDay]:
    """Days from planting to two weeks after maturity."""
    grown = [day for day in days if day.stage != "fallow"]
    mature = [i for i, day in enumerate(grown) if day.stage == mature_stage]
    return grown[: mature[0] + 14] if mature else grown


def _rain(axes: Axes, when: list[int], days: list[TraceDay]) -> None:
    """Rain and irrigation as bars."""
    rain = np.array([day.rain_mm for day in days])
    given = np.array([day.irrigation_mm for day in days])
    axes.bar(when, rain, width=1.0, color=palette.RAIN, label="rain")
    if given.any():
        axes.bar(when, given, width=1.0, bottom=rain, color=palette.FREE, label="irrigation")
        axes.legend(fontsize=8, frameon=False, loc="upper right", ncols=2)
    room = 1.5 if given.any() else 1.1  # the legend stands above the bars
    axes.set_ylim(0, max(10.0, room * float((rain + given).max())))
    axes.set_ylabel("rain\n[mm]", fontsize=9)
    axes.locator_params(axis="y", nbins=3)


def _water(axes: Axes, when: list[int], days: list[TraceDay]) -> None:
    """Water that roots can still take up before stress, both twins."""
    free = [day.free.water for day in days]
    held = [day.held.water for day in days]
    axes.fill_between(when, held, free, color=palette.HELD, alpha=0.10, linewidth=0)
    axes.plot(when, free, color=palette.FREE, ls="--", lw=1.8, label="free roots")
    axes.plot(when, held, color=palette.HELD, lw=2.2, label="held roots")
    axes.axhline(0.0, color=palette.INK, lw=1.0)
    most = max(*free, *held, 10.0)
    axes.set_ylim(-0.03 * most, 1.05 * most)
    axes.set_ylabel("water in reach before stress [mm]", fontsize=9)
    axes.legend(fontsize=9, frameon=False, loc="upper right")


def _stress(axes: Axes, when: list[int], days: list[TraceDay], since: str) -> None:
    """Stress of each day as bars, its sum as lines at the right-hand scale."""
    held = [day.held.stress for day in days]
    free = [day.free.stress for day in days]
    axes.fill_between(when, held, step="mid", color=palette.RUNG_FILL[2], lw=0, label="held")
    axes.fill_between(when, free, step="mid", color=palette.FREE, alpha=0.45, lw=0, label="free")
    axes.set_ylim(0, 1.0)
    axes.set_ylabel(f"stress of the day, from {since}\n[1 - Ks]", fontsize=9)
    sums = axes.twinx()
    style: dict[str, Any] = {"lw": 1.6}
    sums.plot(when, [d.held.stress_days for d in days], color=palette.HELD, **style)
    sums.plot(when, [d.free.stress_days for d in days], color=palette.FREE, ls="--", **style)
    sums.set_ylim(0, max(5.0, 1.1 * days[-1].held.stress_days, 1.1 * days[-1].free.stress_days))
    sums.set_ylabel("sum, lines [d]", fontsize=9)
    sums.tick_params(labelsize=9, length=3)
    sums.spines[["top", "left"]].set_visible(False)
    axes.legend(fontsize=8, frameon=False, loc="upper left")


def _stage_starts(days: list[TraceDay], named: tuple[str, ...]) -> list[tuple[int, str]]:
    """First day of each stage that is named in the picture."""
    starts: list[tuple[int, str]] = []
    for stage in named:
        first = next((day for day in days if day.stage == stage), None)
        if first is not None:
            starts.append((first.date.toordinal(), stage))
    return starts


def _stage_lines(axes: Axes, bands: list[tuple[int, str]], last: int) -> None:
    """Every other band between named stages lightly shaded."""
    starts = [when for when, _ in bands]
    ends = [*starts, last][1:]
    for begin, end in list(zip(starts, ends, strict=True))[::2]:
        axes.axvspan(begin, end, color=palette.PANEL, zorder=0, lw=0)


def _stage_names(axes: Axes, bands: list[tuple[int, str]]) -> None:
    """Names of the stages above the picture."""
    for when, stage in bands:
        axes.text(when, 1.05, stage, transform=axes.get_xaxis_transform(), fontsize=9, ha="center")


def _months(axes: Axes, days: list[TraceDay]) -> None:
    """First days of the months."""
    firsts = [day.date for day in days if day.date.day == 1]
    axes.set_xticks([day.toordinal() for day in firsts], [f"{day:%b}" for day in firsts])
    axes.set_xlim(days[0].date.toordinal() - 1, days[-1].date.toordinal() + 1)
