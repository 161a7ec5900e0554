"""Room for dots on a map: none lies on another, each as near its place as it can be."""

from __future__ import annotations

import math

DOT = 12.0
"""Radius of a dot: a target of 24 px, WCAG 2.2 success criterion 2.5.8. [px]"""
TURN, WIDER = 2.4, 3.4
"""The spiral's turn a step [rad] and how fast it widens. [px]"""
TRIES = 420


class Room:
    """Dots placed so far, kept by squares as wide as a dot.

    Parameters
    ----------
    width, height
        Of the picture. [px]
    """

    def __init__(self, width: float, height: float) -> None:
        self._ends = width - DOT, height - DOT
        self._taken: dict[tuple[int, int], list[tuple[float, float]]] = {}

    def place(self, x: float, y: float) -> tuple[float, float] | None:
        """Take the free place nearest along a widening spiral.

        Parameters
        ----------
        x, y
            The right place. [px]

        Returns
        -------
        tuple or None
            None where there is no room near it.
        """
        for step in range(TRIES):
            reach = WIDER * math.sqrt(step)
            at = (
                min(max(x + reach * math.cos(step * TURN), DOT), self._ends[0]),
                min(max(y + reach * math.sin(step * TURN), DOT), self._ends[1]),
            )
            if self._free(at):
                self._taken.setdefault(_square(at), []).append(at)
                return at
        return None

    def _free(self, at: tuple[float, float]) -> bool:
        column, row = _square(at)
        return all(
            math.dist(at, other) >= 2 * DOT
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for other in self._taken.get((i, j), ())
        )


def _square(at: tuple[float, float]) -> tuple[int, int]:
    return int(at[0] // (2 * DOT)), int(at[1] // (2 * DOT))
