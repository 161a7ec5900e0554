"""Chances as said against what came: points on the line are honest."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes import palette
from rootbound_service.replay.report.picture import LABEL, as_picture, drawn, quiet

if TYPE_CHECKING:
    from rootbound_service.replay.report.chance_facts import Chances
    from rootbound_service.replay.report.picture import Picture

HEIGHT_IN = 3.3


def chance_picture(chances: Chances, title: str) -> Picture:
    """Draw the classes of one kind of chance.

    Parameters
    ----------
    chances
        With at least one class.
    title
        Written above it.
    """
    found = chances.classes
    with drawn(HEIGHT_IN) as figure:
        axes = figure.add_axes((0.19, 0.14, 0.78, 0.83))
        axes.plot([0, 1], [0, 1], color=palette.QUIET, lw=0.9, zorder=1)
        axes.axhline(chances.base, color=palette.QUIET, lw=0.9, ls=":", zorder=1)
        for one in found:
            if one.came_low is not None and one.came_high is not None:
                axes.vlines(
                    one.said, one.came_low, one.came_high, color=palette.RUNG_FILL[2], lw=5,
                    zorder=2,
                )  # fmt: skip
        size = np.array([one.nights for one in found], np.float64)
        axes.scatter(
            [one.said for one in found], [one.came for one in found],
            s=16 + 90 * size / size.max(), color=palette.HELD, edgecolor=palette.PAPER,
            linewidth=0.7, zorder=3,
        )  # fmt: skip
        axes.set(xlim=(-0.03, 1.03), ylim=(-0.03, 1.03))
        ticks, words = [0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25 %", "50 %", "75 %", "100 %"]
        axes.set_xticks(ticks, words)
        axes.set_yticks(ticks, words)
        axes.set_xlabel("chance that was said", fontsize=LABEL)
        axes.set_ylabel("came", fontsize=LABEL)
        quiet(axes)
        told = "; ".join(f"said {one.said:.0%}, came {one.came:.0%}" for one in found)
        return as_picture(figure, title, f"{title}. {told}.")
