"""A map to set a place on: the account's fields in metres around their middle, without tiles.

The script beside it turns a tap into degrees by the three numbers on the picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from rootbound_service.web.draw.marks import path, tag, titled, words
from rootbound_service.web.draw.place import Extent, Position, extent_of

if TYPE_CHECKING:
    from rootbound_service.intake.shapes import Outline

M_PER_DEGREE = 111_195.0
"""Of latitude, on a sphere of 6371 km. [m]"""
WIDTH, CHOICE_WIDTH = 340.0, 340.0
BIG_ENOUGH = 16.0
"""An outline larger than this has room for its number. [px]"""


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A field that is there already."""

    name: str
    place: Position
    ring: tuple[Position, ...]


def place_map(fields: Sequence[Neighbour]) -> str:
    """Draw the account's fields to tap beside.

    Parameters
    ----------
    fields
        Any number; without one the script opens the map where the phone is.

    Returns
    -------
    str
        SVG in metres, x east and y south of its middle.
    """
    every = [one.place for one in fields] + [at for one in fields for at in one.ring]
    extent = extent_of(every, WIDTH, margin=0.2)
    about = "Map of your fields, north is up; what a tap sets can be typed above as well"
    shared: dict[str, object] = {"class_": "tap", "role": "img", "aria_label": about}
    if extent is None:
        return tag("svg", tag("g", " "), viewBox="-2000 -1500 4000 3000", **shared)
    lon, lat = (extent.west + extent.east) / 2, (extent.south + extent.north) / 2
    squeeze = math.cos(math.radians(lat))
    high = (extent.north - extent.south) * M_PER_DEGREE
    wide = high * extent.width / extent.height

    def metres(at: Position) -> Position:
        turned = (at[0] - lon + 180.0) % 360.0 - 180.0
        return turned * M_PER_DEGREE * squeeze, (lat - at[1]) * M_PER_DEGREE

    return tag(
        "svg",
        "".join(_one(field, metres(field.place), map(metres, field.ring)) for field in fields),
        viewBox=f"{-wide / 2:.0f} {-high / 2:.0f} {wide:.0f} {high:.0f}",
        data_lon=f"{lon:.7f}",
        data_lat=f"{lat:.7f}",
        data_squeeze=f"{squeeze:.7f}",
        **shared,
    )


def _one(field: Neighbour, at: Position, ring: Iterable[Position]) -> str:
    """A field: its outline, and a dot that stays as large however near one looks."""
    inner = titled(field.name)
    corners = list(ring)
    if corners:
        inner += path(corners, "there", close=True)
    return tag("g", inner + tag("path", d=f"M{at[0]:.1f} {at[1]:.1f}h0", class_="dot"))


def choice_map(outlines: Sequence[Outline]) -> str:
    """Draw the fields of a file with their numbers.

    Parameters
    ----------
    outlines
        At least one.
    """
    every = [one.middle for one in outlines] + [at for one in outlines for at in _ring(one)]
    extent = extent_of(every, CHOICE_WIDTH)
    if extent is None:
        return ""
    return tag(
        "svg",
        "".join(_numbered(number, one, extent) for number, one in enumerate(outlines, 1)),
        viewBox=f"0 0 {extent.width:g} {extent.height:.0f}",
        class_="choice",
        role="img",
        aria_label=f"The {len(outlines)} fields of the file, north is up",
    )


def _numbered(number: int, one: Outline, extent: Extent) -> str:
    corners = [extent.at(at) for at in _ring(one)]
    x, y = extent.at(one.middle)
    shape = path(corners, "there", close=True) if corners else ""
    if not corners or max(a for a, _ in corners) - min(a for a, _ in corners) < BIG_ENOUGH:
        shape += tag("circle", cx=x, cy=y, r=3.0, class_="dot")
    return titled(one.name) + shape + words(str(number), x, y + 4, "number", "middle")


def ring_of(shape: object) -> tuple[Position, ...]:
    """The outer ring of a kept outline; none where there is none."""
    if not isinstance(shape, Mapping):
        return ()
    rings: Any = cast("Mapping[str, Any]", shape).get("coordinates") or [[]]
    return tuple((float(at[0]), float(at[1])) for at in rings[0])


def _ring(one: Outline) -> Sequence[Position]:
    return one.rings[0] if one.rings else ()
