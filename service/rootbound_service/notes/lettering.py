"""Words of small pictures: how they are written, how much room they take, labels around them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from rootbound_service.notes.drawing import DPI, FONT

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Hand:
    """How words are written."""

    size_pt: float
    colour: str
    bold: bool = False


def rounded(inside: tuple[float, float, float, float], size_pt: float) -> NDArray[np.float64]:
    """Give the outline of a label with round corners.

    Parameters
    ----------
    inside
        Left, bottom, width and height of its words. [px]
    size_pt
        Of the words: a quarter of it is left around them. [pt]

    Returns
    -------
    ndarray
        Corners, of shape (corners, 2). [px]
    """
    from matplotlib.patches import BoxStyle

    make: Any = cast("Any", BoxStyle.Round)(pad=0.25)
    shape = make(*inside, mutation_size=size_pt * DPI / 72.0)
    return np.asarray(shape.to_polygons()[0], np.float64)


@lru_cache(maxsize=4096)  # the same words come in every picture
def extent(text: str, hand: Hand) -> tuple[float, float, float]:
    """Measure a line of text.

    Parameters
    ----------
    text
        As it is: no formulas.
    hand
        How it is written.

    Returns
    -------
    tuple of float
        Its width, its height whatever letters are in it, and how much of that is under the
        base. [px]
    """
    from matplotlib.backends.backend_agg import RendererAgg

    agg: Any = cast("Any", RendererAgg)(1, 1, DPI)
    font = font_of(hand)
    wide, tall, deep = agg.get_text_width_height_descent(text, font, ismath=False)
    _, line, under = agg.get_text_width_height_descent("lp", font, ismath=False)
    return wide, max(tall, line), max(deep, under)


@cache
def font_of(hand: Hand) -> FontProperties:
    """Give our font, of a hand's size and weight."""
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=FONT, weight="bold" if hand.bold else "normal", size=hand.size_pt)
