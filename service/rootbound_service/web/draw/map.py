"""The map of fields: shapes and dots of our own, a grid of degrees, a scale; no tiles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rootbound_service.web.draw.marks import path, tag, titled, words
from rootbound_service.web.draw.place import Extent, Position, extent_of, round_step

WIDTH = 340.0
DOT = 12.0
"""Radius: a target of 24 px. [px]"""
FOOT = 40.0
KM_PER_MILE = 1.609344
SHAPE_PX = 14.0
"""A field smaller than this in the picture is a dot. [px]"""
CROWD = 140
"""More fields than this are counted by squares."""
SQUARES = 9
"""Squares across the picture."""


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


def map_svg(spots: Sequence[Spot], outlines: Sequence[Sequence[Position]] = ()) -> str:
    """Draw fields.

    Parameters
    ----------
    spots
        The most urgent first: they are drawn on top.
    outlines
        Borders of states, where an installed package has them.

    Returns
    -------
    str
        SVG; empty without a field.
    """
    every = [one.place for one in spots] + [at for one in spots for at in one.ring]
    extent = extent_of(every, WIDTH)
    if extent is None:
        return ""
    parts = [*_grid(extent), *(path(map(extent.at, line), "land") for line in outlines)]
    drawn = _counted(spots, extent) if len(spots) > CROWD else _each(spots, extent)
    parts += [*drawn, *_scale(extent)]
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


def _each(spots: Sequence[Spot], extent: Extent) -> list[str]:
    """Every field by itself; dots that would lie on each other are moved apart."""
    placed: list[tuple[float, float]] = []
    found: list[str] = []
    for one in spots:
        inside = [extent.at(at) for at in one.ring]
        if inside and _size(inside) >= SHAPE_PX:
            x, y = extent.at(one.place)
            inner = path(inside, f"place {one.kind}", close=True)
            inner += words(one.sign, x, y + 4, f"on-{one.kind}", "middle") if one.sign else ""
        else:
            x, y = _apart(extent.at(one.place), placed, extent)
            placed.append((x, y))
            inner = tag("circle", cx=x, cy=y, r=DOT, class_=f"place {one.kind}")
            inner += words(one.sign, x, y + 4, f"on-{one.kind}", "middle") if one.sign else ""
        link = tag("a", titled(one.about) + inner, href=f"/fields/{one.id}", aria_label=one.about)
        found.append(link)
    return found[::-1]


def _apart(
    at: tuple[float, float], placed: Sequence[tuple[float, float]], extent: Extent
) -> tuple[float, float]:
    """A free place near the right one, on a widening spiral."""
    for step in range(160):
        turn, reach = step * 2.4, 3.4 * math.sqrt(step)
        x = min(max(at[0] + reach * math.cos(turn), DOT), extent.width - DOT)
        y = min(max(at[1] + reach * math.sin(turn), DOT), extent.height - DOT)
        if all(math.hypot(x - a, y - b) >= 2 * DOT for a, b in placed):
            return x, y
    return at


def _counted(spots: Sequence[Spot], extent: Extent) -> list[str]:
    """Squares with how many fields lie in them, in the colour of the worst."""
    side = extent.width / SQUARES
    squares: dict[tuple[int, int], list[Spot]] = {}
    for one in spots:
        x, y = extent.at(one.place)
        squares.setdefault((int(x // side), int(y // side)), []).append(one)
    found: list[str] = []
    for (column, row), inside in sorted(squares.items()):
        worst = inside[0]  # the most urgent comes first
        x, y = column * side, row * side
        many = len(inside)
        about = f"{many} field{'' if many == 1 else 's'}; the most urgent: {worst.about}"
        box = tag("rect", x=x, y=y, width=side - 1, height=side - 1, class_=f"place {worst.kind}")
        at = (x + side / 2, y + side / 2 + 4)
        number = words(str(many), *at, f"on-{worst.kind}", "middle")
        link = tag("a", titled(about) + box + number, href=f"/fields/{worst.id}", aria_label=about)
        found.append(link)
    return found


def _grid(extent: Extent) -> list[str]:
    """Meridians and parallels with their degrees."""
    step = round_step(extent.north - extent.south, 4)
    digits = max(0, -math.floor(math.log10(step)))
    found: list[str] = []
    lon = math.ceil(extent.west / step) * step
    while lon < extent.east:
        x, _ = extent.at((lon, extent.south))
        found.append(tag("line", x1=x, x2=x, y1=0.0, y2=extent.height, class_="hair"))
        if 30 < x < extent.width - 30:  # noqa: PLR2004  room for the letters
            turned = (lon + 180.0) % 360.0 - 180.0
            name = f"{abs(turned):.{digits}f}°{'E' if turned >= 0 else 'W'}"
            found.append(words(name, x, extent.height + 12, "tick", "middle"))
        lon += step
    lat = math.ceil(extent.south / step) * step
    while lat < extent.north:
        _, y = extent.at((extent.west, lat))
        found.append(tag("line", x1=0.0, x2=extent.width, y1=y, y2=y, class_="hair"))
        name = f"{abs(lat):.{digits}f}°{'N' if lat >= 0 else 'S'}"
        found.append(words(name, 2, y - 3, "tick"))
        lat += step
    return found


def _scale(extent: Extent) -> list[str]:
    """Distances in kilometres and miles."""
    found: list[str] = []
    for place, (unit, km) in enumerate((("km", 1.0), ("mi", KM_PER_MILE))):
        span = extent.km_wide / km
        length = round_step(span, 8)
        wide, y = length / span * extent.width, extent.height + 22 + 13 * place
        found.append(tag("path", d=f"M4 {y - 4:.1f}v4h{wide:.1f}v-4", class_="scale"))
        found.append(words(f"{length:g} {unit}", wide + 9, y, "tick"))
    return found


def _size(points: Sequence[tuple[float, float]]) -> float:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(max(xs) - min(xs), max(ys) - min(ys))
