"""The map of fields: shapes and dots of our own, a grid of degrees, a scale; no tiles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rootbound_service.web.draw.apart import DOT, Room
from rootbound_service.web.draw.grid import FOOT, grid, scale
from rootbound_service.web.draw.marks import path, tag, titled, words
from rootbound_service.web.draw.outlines import CREDIT
from rootbound_service.web.draw.place import Extent, Position, extent_of

WIDTH = 340.0
SHAPE_PX = 14.0
"""A field smaller than this in the picture is a dot. [px]"""
CROWD = 140
"""More fields than this are counted by squares."""
SQUARES = 8
"""Squares across the picture."""
FINE_PX = 2.0
"""Corners nearer than this to the one before cannot be seen, and would fill the page. [px]"""


@dataclass(frozen=True, slots=True)
class Spot:
    """One field on the map."""

    id: int
    about: str
    """Its name and how it stands."""
    kind: str
    """Class of its chip."""
    sign: str
    """Its rung's number; empty: none."""
    place: Position
    ring: tuple[Position, ...] = ()
    """Its outline, closed."""


def map_extent(spots: Sequence[Spot]) -> Extent | None:
    """Give the part of the world that a map of fields shows; None without a field.

    Parameters
    ----------
    spots
        The fields.
    """
    every = [one.place for one in spots] + [at for one in spots for at in one.ring]
    return extent_of(every, WIDTH)


def map_svg(spots: Sequence[Spot], outlines: Sequence[Sequence[Position]] = ()) -> str:
    """Draw fields.

    Parameters
    ----------
    spots
        The most urgent first: they are drawn on top.
    outlines
        Borders, where an installed package has them.

    Returns
    -------
    str
        SVG; empty without a field.
    """
    extent = map_extent(spots)
    if extent is None:
        return ""
    drawn = None if len(spots) > CROWD else _each(spots, extent)
    parts = [*grid(extent), *(path(map(extent.at, line), "land") for line in outlines)]
    parts += [*(_counted(spots, extent) if drawn is None else drawn), *scale(extent)]
    if outlines:
        parts.append(words(CREDIT, WIDTH - 4, extent.height + 40, "tick", "end"))
    about = f"Map of {len(spots)} field{'' if len(spots) == 1 else 's'}, north is up"
    return tag(
        "svg",
        "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {extent.height + FOOT:.0f}",
        class_="map",
        role="group",
        aria_label=about,
    )


def _each(spots: Sequence[Spot], extent: Extent) -> list[str] | None:
    """Every field by itself, the most urgent dots uppermost; None where dots find no room."""
    room = Room(extent.width, extent.height)
    shapes, dots, leaders = list[str](), list[str](), list[str]()
    for one in spots:
        x, y = extent.at(one.place)
        corners = _corners(one, extent)
        if corners and _size(corners) >= SHAPE_PX:
            shape = path(corners, f"place {one.kind}", close=True)
            shapes.append(_link(one, shape + _number(one, x, y)))
            continue
        at = room.place(x, y)
        if at is None:
            return None
        if abs(at[0] - x) + abs(at[1] - y) > DOT:
            leaders.append(tag("line", x1=x, y1=y, x2=at[0], y2=at[1], class_="leader"))
        dot = tag("circle", cx=at[0], cy=at[1], r=DOT, class_=f"place {one.kind}")
        dots.append(_link(one, dot + _number(one, *at)))
    return [*shapes[::-1], *leaders, *dots[::-1]]


def _link(one: Spot, inner: str) -> str:
    return tag("a", titled(one.about) + inner, href=f"/fields/{one.id}", aria_label=one.about)


def _number(one: Spot, x: float, y: float) -> str:
    return words(one.sign, x, y + 4, f"on-{one.kind}", "middle") if one.sign else ""


def _counted(spots: Sequence[Spot], extent: Extent) -> list[str]:
    """Squares with how many fields lie in them, in the colour and with the rung of the worst."""
    side = extent.width / SQUARES
    tall = extent.height / max(round(extent.height / side), 1)
    squares: dict[tuple[int, int], list[Spot]] = {}
    for one in spots:
        x, y = extent.at(one.place)
        squares.setdefault((int(x // side), int(y // tall)), []).append(one)
    found: list[str] = []
    for (column, row), inside in sorted(squares.items()):
        worst = inside[0]  # the most urgent comes first
        x, y, many = column * side, row * tall, len(inside)
        about = f"{many} field{'' if many == 1 else 's'}; the most urgent: {worst.about}"
        box = tag("rect", x=x, y=y, width=side - 1, height=tall - 1, class_=f"place {worst.kind}")
        kind, middle, foot = f"on-{worst.kind}", x + side / 2, y + tall / 2
        told = words(str(many), middle, foot - 2, f"many {kind}", "middle")
        rung = f"rung {worst.sign}" if worst.sign else "none"
        told += words(rung, middle, foot + 13, f"few {kind}", "middle")
        link = tag("a", titled(about) + box + told, href=f"/fields/{worst.id}", aria_label=about)
        found.append(link)
    return found


def _corners(one: Spot, extent: Extent) -> list[tuple[float, float]]:
    """The outline in the picture, without corners that cannot be told apart."""
    kept: list[tuple[float, float]] = []
    for at in map(extent.at, one.ring):
        if not kept or math.dist(at, kept[-1]) >= FINE_PX:
            kept.append(at)
    return kept


def _size(points: Sequence[tuple[float, float]]) -> float:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(max(xs) - min(xs), max(ys) - min(ys))
