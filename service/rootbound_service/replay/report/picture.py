"""A matplotlib figure as a picture inside a page: SVG, the same bytes for the same seasons."""

from __future__ import annotations

import base64
import io
from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.notes import drawing, palette

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_IN = 3.6
"""Of every picture: it fits a phone at its full size, and stands beside others elsewhere."""
LABEL = 8.0
SALT = "rootbound"
"""Of the names within a picture: without one they are drawn by chance."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture and what it shows in words."""

    source: str
    """As the ``src`` of an image."""
    alt: str
    title: str


@contextmanager
def drawn(height_in: float) -> Generator[Figure]:
    """Give a figure that is drawn in our style, whatever the machine's settings are.

    Parameters
    ----------
    height_in
        Its height; the width is the same for all. [in]

    Yields
    ------
    Figure
        To draw on and to give to :func:`as_picture` before the block ends.
    """
    import matplotlib as mpl

    with drawing.fixed_style(), mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": SALT}):
        yield drawing.new_figure(WIDTH_IN, height_in)


def as_picture(figure: Figure, title: str, alt: str) -> Picture:
    """Turn a figure into a picture.

    Parameters
    ----------
    figure
        From :func:`drawn`.
    title
        Written above it.
    alt
        What it shows, for those who do not see it.
    """
    file = io.BytesIO()
    figure.savefig(file, format="svg", metadata={"Date": None})
    data = base64.b64encode(file.getvalue()).decode("ascii")
    return Picture(f"data:image/svg+xml;base64,{data}", alt, title)


def quiet(axes: Axes) -> None:
    """Leave only the lines that say something."""
    axes.tick_params(labelsize=LABEL, length=3, color=palette.RULE)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
