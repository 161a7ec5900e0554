"""Computed stress against yields, a point a season."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes import palette
from rootbound_service.replay.contingency import UNDER_TREND
from rootbound_service.replay.report.picture import LABEL, as_picture, drawn, quiet

if TYPE_CHECKING:
    from rootbound_service.replay.report.picture import Picture
    from rootbound_service.replay.report.yield_facts import Way, YieldFacts

HEIGHT_IN = 3.3
POOR_PCT = -100.0 * UNDER_TREND
LABELLED = 0.02
"""Share of the worst stress up to which the years of good yields go unnamed: they are too many."""


def yield_picture(facts: YieldFacts, way: Way, title: str, *, free: bool) -> Picture:
    """Draw the seasons of one score.

    Parameters
    ----------
    facts
        With the yields.
    way
        The score.
    title
        Written above it.
    free
        Whether it is of free roots, which have a colour of their own.
    """
    score = np.full(len(facts.years), np.nan) if way.score is None else way.score
    colour = palette.FREE if free else palette.HELD
    most = max(float(np.nanmax(score, initial=0.0)), 1.0)
    with drawn(HEIGHT_IN) as figure:
        axes = figure.add_axes((0.17, 0.15, 0.8, 0.82))
        axes.axhline(0.0, color=palette.RULE, lw=0.9, zorder=1)
        axes.axhline(POOR_PCT, color=palette.QUIET, lw=0.9, ls=":", zorder=1)
        for year, x, y, wet in zip(facts.years, score, 100 * facts.share, facts.wet, strict=True):
            if np.isnan(x):
                continue
            axes.plot(
                x, y, "s" if wet else "o", ms=5.5, mec=colour, mew=1.1,
                color=palette.PAPER if wet else colour, zorder=3, clip_on=False,
            )  # fmt: skip
            if x <= LABELLED * most and y > POOR_PCT:
                continue
            axes.annotate(
                f"{year % 100:02d}", (x, y), xytext=(4, 3), textcoords="offset points",
                fontsize=LABEL - 1, color=palette.INK,
            )  # fmt: skip
        axes.set_xlim(-0.03 * most, 1.1 * most)
        axes.set_xlabel("weighted stress, % of published sensitivity", fontsize=LABEL)
        axes.set_ylabel("yield against trend, %", fontsize=LABEL)
        quiet(axes)
        told = (
            f"{year}: stress {x:.0f}, yield {100 * y:+.0f} %"
            for year, x, y in zip(facts.years, score, facts.share, strict=True)
        )
        return as_picture(figure, title, f"{title}. {'; '.join(told)}.")
