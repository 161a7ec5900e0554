"""All seasons of one view in one picture: a row a year, the ladder's colours night by night."""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import RUNG_NAMES
from rootbound_service.notes import palette
from rootbound_service.replay.report.picture import LABEL, WIDTH_IN, as_picture, drawn
from rootbound_service.replay.report.say import MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from rootbound_service.replay.report.picture import Picture
    from rootbound_service.replay.values import Played
    from rootbound_service.replay.views import View

ROW_IN = 0.23
"""Height of a season's row. [in]"""
LEFT_IN, RIGHT_IN, TOP_IN, BOTTOM_IN = 0.42, 0.06, 0.05, 0.28
TOP, BAND = -0.24, 0.66
"""Where a band begins and how tall it is, in rows: the mark stands above it."""
NARROW = 3
"""Nights from which on a number fits into its band."""
COMMON = 2001
"""A year without a leap day: the same day of every year stands at the same place."""


def ladder_picture(view: View, title: str) -> Picture:
    """Draw the rungs of every night of every season.

    Parameters
    ----------
    view
        Whose.
    title
        Written above it.
    """
    rows = view.seasons
    height = ROW_IN * len(rows) + TOP_IN + BOTTOM_IN
    with drawn(height) as figure:
        axes = figure.add_axes((
            LEFT_IN / WIDTH_IN, BOTTOM_IN / height,
            1.0 - (LEFT_IN + RIGHT_IN) / WIDTH_IN, 1.0 - (TOP_IN + BOTTOM_IN) / height,
        ))  # fmt: skip
        for row, (played, _) in enumerate(rows):
            _season(axes, row, played, view)
        _frame(axes, view)
        return as_picture(figure, title, _alt(view))


def _season(axes: Axes, row: int, played: Played, view: View) -> None:
    """One row: bands of one rung, a number where each begins, a mark where it ran short."""
    rungs = [(night.night, night.twin(view.twin).rung) for night in played.nights]
    for rung, run in groupby(rungs, key=lambda one: one[1]):
        nights = [_at(night, played.year) for night, _ in run]
        wide = nights[-1] - nights[0] + 1
        axes.broken_barh(
            [(nights[0], wide)], (row + TOP, BAND), facecolor=palette.RUNG_FILL[rung], linewidth=0
        )
        if wide >= NARROW and rung > 0:
            axes.text(
                nights[0] + 0.6, row + TOP + BAND / 2 + 0.02, str(rung), fontsize=LABEL - 1.5,
                va="center", ha="left", color=palette.RUNG_TEXT[rung], fontweight="bold",
            )  # fmt: skip
    onset = played.came(view.twin).onset
    if onset is not None:
        at = _at(onset, played.year) + 0.5
        axes.plot(at, row + TOP - 0.1, "v", color=palette.INK, ms=5, mew=0, zorder=6, clip_on=False)


def _at(when: date, year: int) -> int:
    """Day of a season on an axis that all years share."""
    day = 28 if (when.month, when.day) == (2, 29) else when.day
    return date(COMMON + when.year - year, when.month, day).toordinal()


def _frame(axes: Axes, view: View) -> None:
    """Years at the left, months below."""
    nights = [
        _at(night.night, played.year) for played, _ in view.seasons for night in played.nights
    ]
    first, last = min(nights, default=0), max(nights, default=1)
    axes.set(xlim=(first - 1, last + 2), ylim=(len(view.seasons) - 0.5, -0.6))
    months = [date(COMMON + k // 12, k % 12 + 1, 1) for k in range(24)]
    inside = [one for one in months if first <= one.toordinal() <= last]
    axes.set_xticks(
        [one.toordinal() for one in inside], [f"1 {MONTHS[one.month - 1]}" for one in inside]
    )
    middles = [row + TOP + BAND / 2 for row in range(len(view.seasons))]
    axes.set_yticks(middles, [str(one.year) for one in view.judged])
    axes.tick_params(labelsize=LABEL, length=2, color=palette.RULE)
    axes.tick_params(axis="y", length=0)
    for one in inside:
        axes.axvline(one.toordinal(), color=palette.RULE, lw=0.5, zorder=0)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)


def _alt(view: View) -> str:
    """Say what the picture shows."""
    worst = [
        f"{one.year} {one.worst} {RUNG_NAMES[one.worst]}" for one in view.judged if one.worst > 0
    ]
    quiet = sum(one.worst == 0 for one in view.judged)
    told = f"Highest rungs: {', '.join(worst)}. " if worst else ""
    return f"Rungs by night, a row a year, {view.roots}. {told}{quiet} seasons stayed at 0 ample."
