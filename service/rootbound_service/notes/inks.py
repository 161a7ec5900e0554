"""Every colour that letters are drawn with, as numbers and as the palette of their pictures."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes import palette

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PIL.Image import Image

BAND, REACHED, REACHED_AHEAD = COVERS = (0.18, 0.75, 0.25)
"""How much the outlook's band and the strip of the reach cover what lies under them."""
PAPER = 0xFFFFFFFF
FADES = 4
"""Steps from an ink to its ground, at its edges."""


@cache
def rgb(colour: str) -> tuple[float, float, float]:
    """Give red, green and blue of a colour, 0 to 1."""
    from matplotlib.colors import to_rgb

    return to_rgb(colour)


def blended(colour: str, ground: str, share: float) -> tuple[int, int, int]:
    """Give the colour that covers a ground by a share, in 255ths."""
    mixed = share * np.array(rgb(colour)) + (1.0 - share) * np.array(rgb(ground))
    red, green, blue = np.rint(255 * mixed).astype(int).tolist()
    return red, green, blue


@cache
def inks() -> NDArray[np.int64]:
    """Give every colour that we draw with and how its edges fade, paper first: (colours, 3)."""
    own = (palette.HELD, palette.FREE, palette.RAIN, palette.INK, palette.QUIET, palette.RULE)
    on = [(ink, palette.PAPER) for ink in (*own, *palette.RUNG_FILL)]
    on += list(zip(palette.RUNG_TEXT, palette.RUNG_FILL, strict=True))
    steps: list[float] = np.linspace(1.0, 0.0, FADES + 1)[:-1].tolist()
    found = [blended(palette.PAPER, palette.PAPER, 1.0)]
    found += [blended(palette.HELD, palette.PAPER, share) for share in COVERS]
    found += [blended(ink, ground, share) for ink, ground in on for share in steps]
    return np.array(list(dict.fromkeys(found)))


def by_inks(pixels: NDArray[np.uint8]) -> Image:
    """Give a picture with the nearest of our inks for each pixel: a third of the size.

    Parameters
    ----------
    pixels
        Of shape (height, width, 4): red, green, blue, and opaque.
    """
    from PIL import Image

    code = np.ascontiguousarray(pixels).view("<u4")[..., 0]
    drawn = code != PAPER  # most of a picture is paper
    found, which = np.unique(code[drawn], return_inverse=True)
    seen = found.view(np.uint8).reshape(-1, 4)[:, :3].astype(np.float64)
    # squares apart, without what is the same for every ink
    apart = (inks() ** 2).sum(axis=1) - 2.0 * seen @ inks().T
    flat = np.zeros(code.shape, np.uint8)
    flat[drawn] = apart.argmin(axis=1).astype(np.uint8)[which]
    picture = Image.fromarray(flat)
    picture.putpalette(inks().astype(np.uint8).tobytes())
    return picture
