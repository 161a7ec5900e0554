"""A small picture drawn stroke by stroke with matplotlib's Agg.

Its figures and axes lay out everything anew for each picture, which takes ten times as long; a
night of very many fields draws tens of thousands.
"""

from __future__ import annotations

import io
from functools import cache
from typing import TYPE_CHECKING, Any, Literal, cast

import numpy as np

from rootbound_service.notes import palette
from rootbound_service.notes.drawing import DPI
from rootbound_service.notes.inks import by_inks, rgb
from rootbound_service.notes.lettering import extent, font_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from rootbound_service.notes.lettering import Hand

    Across = Literal["left", "center", "right"]
    Up = Literal["base", "top", "center", "bottom"]
    Corners = tuple[float, float, float, float]
    """Left, bottom, right, top. [px]"""

DASHES_PT = (3.7, 1.6)
"""Length and gap of a dash, for a stroke of one point."""


class Sheet:
    """White paper of so many pixels, counted from its lower left corner.

    Parameters
    ----------
    width, height
        Its size. [px]
    """

    def __init__(self, width: int, height: int) -> None:
        from matplotlib.backends.backend_agg import RendererAgg

        self.width, self.height = width, height
        self._agg: Any = cast("Any", RendererAgg)(width, height, DPI)
        self.fill([(0, 0), (width, 0), (width, height), (0, height)], palette.PAPER)

    def fill(
        self, corners: ArrayLike, colour: str, alpha: float = 1.0, within: Corners | None = None
    ) -> None:
        """Fill an outline.

        Parameters
        ----------
        corners
            Of shape (corners, 2). [px]
        colour
            As in :mod:`rootbound_service.notes.palette`.
        alpha
            How much it covers.
        within
            Nothing is drawn beyond.
        """
        pen = self._pen(colour, 0.0, alpha, within)
        self._agg.draw_path(pen, _path(corners, closed=True), _as_it_is(), pen.get_rgb())

    def stroke(
        self,
        points: ArrayLike,
        colour: str,
        width_pt: float,
        *,
        dashed: bool = False,
        within: Corners | None = None,
    ) -> None:
        """Draw a line.

        Parameters
        ----------
        points
            Of shape (points, 2), NaN where it breaks. [px]
        colour
            As in :mod:`rootbound_service.notes.palette`.
        width_pt
            Of the line. [pt]
        dashed
            Whether it is broken into dashes.
        within
            Nothing is drawn beyond.
        """
        pen = self._pen(colour, width_pt, 1.0, within)
        pen.set_joinstyle("round")
        pen.set_capstyle("butt" if dashed else "projecting")
        if dashed:
            pen.set_dashes(0.0, [width_pt * part for part in DASHES_PT])
        self._agg.draw_path(pen, _path(points), _as_it_is())

    def words(
        self,
        x: float,
        y: float,
        text: str,
        hand: Hand,
        *,
        across: Across = "left",
        up: Up = "base",
    ) -> None:
        """Write a line of plain text.

        Parameters
        ----------
        x, y
            Where. [px]
        text
            As it is: no formulas.
        hand
            How.
        across, up
            Which side of the line lies there.
        """
        wide, tall, deep = extent(text, hand)
        left = x - {"left": 0.0, "center": wide / 2, "right": wide}[across]
        raised = {"base": 0.0, "top": deep - tall, "center": deep - tall / 2, "bottom": deep}[up]
        pen, down = self._pen(hand.colour, 0.0, 1.0, None), self.height - (y + raised)
        self._agg.draw_text(pen, left, down, text, font_of(hand), 0.0)

    def png(self) -> bytes:
        """Give the sheet as PNG: opaque, small, always the same bytes."""
        out, flat = io.BytesIO(), by_inks(np.asarray(self._agg.buffer_rgba()))
        flat.save(out, "PNG", compress_level=7)  # 8 takes three times as long for a twentieth
        return out.getvalue()

    def _pen(self, colour: str, width_pt: float, alpha: float, within: Corners | None) -> Any:
        from matplotlib.transforms import Bbox

        pen = self._agg.new_gc()
        pen.set_foreground((*rgb(colour), alpha), isRGBA=True)
        pen.set_linewidth(width_pt)
        if within is not None:
            pen.set_clip_rectangle(Bbox.from_extents(*within))
        return pen


def _path(points: ArrayLike, *, closed: bool = False) -> Any:
    from matplotlib.path import Path

    given = np.asarray(points, np.float64)
    return Path(np.vstack([given, given[:1]]) if closed else given)


@cache
def _as_it_is() -> Any:
    from matplotlib.transforms import IdentityTransform

    return IdentityTransform()
