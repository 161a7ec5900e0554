"""How every picture of ours looks, whatever the machine's own settings are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rootbound_service.notes import palette

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from matplotlib.figure import Figure

DPI = 110
FONT = "DejaVu Sans"

_STYLE: dict[str, Any] = {
    "font.family": [FONT],
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
