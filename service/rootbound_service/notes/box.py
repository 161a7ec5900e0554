"""A part of a sheet with numbers of its own along both sides."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from rootbound_service.notes.sheet import Corners, Sheet

    Number = TypeVar("Number", float, NDArray[np.float64])


class Box:
    """A part of a sheet with numbers of its own along both sides.

    Parameters
    ----------
    sheet
        Which it is a part of.
    place
        Left, bottom, width and height, as shares of the sheet.
    across, up
        Its lowest and highest number each way.
    """

    def __init__(
        self,
        sheet: Sheet,
        place: tuple[float, float, float, float],
        across: tuple[float, float],
        up: tuple[float, float],
    ) -> None:
        left, bottom, width, height = place
        self.sheet, self.across, self.up = sheet, across, up
        self.left, self.right = left * sheet.width, (left + width) * sheet.width
        self.bottom, self.top = bottom * sheet.height, (bottom + height) * sheet.height

    @property
    def corners(self) -> Corners:
        """Left, bottom, right, top. [px]"""
        return self.left, self.bottom, self.right, self.top

    def x(self, number: float) -> float:
        """Where a number lies across. [px]"""
        return _scaled(number, self.across, self.left, self.right)

    def y(self, number: float) -> float:
        """Where a number lies upwards. [px]"""
        return _scaled(number, self.up, self.bottom, self.top)

    def line(
        self, x: ArrayLike, y: ArrayLike, colour: str, width_pt: float, *, dashed: bool = False
    ) -> None:
        """Draw a line through numbers.

        Parameters
        ----------
        x, y
            As many of each; NaN breaks the line.
        colour, width_pt, dashed
            As :meth:`Sheet.stroke` takes them.
        """
        self.sheet.stroke(self._points(x, y), colour, width_pt, dashed=dashed, within=self.corners)

    def area(
        self, x: ArrayLike, low: ArrayLike, high: ArrayLike, colour: str, alpha: float = 1.0
    ) -> None:
        """Fill what lies between two lines.

        Parameters
        ----------
        x, low, high
            As many of each, or one for all; NaN parts the area.
        colour, alpha
            As :meth:`Sheet.fill` takes them.
        """
        where, lows, highs = (
            np.array(one, np.float64) for one in np.broadcast_arrays(x, low, high)
        )
        known = np.isfinite(lows) & np.isfinite(highs)
        for run in np.split(np.arange(where.size), np.flatnonzero(np.diff(known)) + 1):
            if run.size and known[run[0]]:
                below = self._points(where[run], lows[run])
                above = self._points(where[run], highs[run])
                outline = np.vstack([below, above[::-1]])
                self.sheet.fill(outline, colour, alpha, within=self.corners)

    def bars(self, x: ArrayLike, foot: float, high: ArrayLike, colour: str) -> None:
        """Fill a bar for each number, one wide, as one outline.

        Parameters
        ----------
        x
            Middles of the bars, one apart.
        foot, high
            From where to where they reach.
        colour
            As :meth:`Sheet.fill` takes it.
        """
        middles = np.asarray(x, np.float64)
        sides = np.column_stack([middles - 0.5, middles + 0.5]).ravel()
        self.area(sides, foot, np.repeat(np.asarray(high, np.float64), 2), colour)

    def level(self, y: float, colour: str, width_pt: float) -> None:
        """Draw a line from side to side, also along the box's own edge.

        Parameters
        ----------
        y
            How high.
        colour, width_pt
            As :meth:`Sheet.stroke` takes them.
        """
        height = self.y(y)
        self.sheet.stroke([(self.left, height), (self.right, height)], colour, width_pt)

    def upright(self, x: float, colour: str, width_pt: float) -> None:
        """Draw a line from bottom to top, also along the box's own edge.

        Parameters
        ----------
        x
            Where.
        colour, width_pt
            As :meth:`Sheet.stroke` takes them.
        """
        where = self.x(x)
        self.sheet.stroke([(where, self.bottom), (where, self.top)], colour, width_pt)

    def _points(self, x: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
        """Corners in pixels, of shape (numbers, 2)."""
        across = _scaled(np.asarray(x, np.float64), self.across, self.left, self.right)
        up = _scaled(np.asarray(y, np.float64), self.up, self.bottom, self.top)
        return np.column_stack([across, up])


def _scaled(number: Number, given: tuple[float, float], begin: float, end: float) -> Number:
    """Where a number between two given ones lies between two pixels."""
    low, high = given
    return begin + (number - low) / (high - low) * (end - begin)
