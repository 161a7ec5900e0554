"""The middle of a field's outline, by the shoelace formula."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import cast

Position = tuple[float, float]

DEGREES = 360.0
"""Past this a number is in metres or feet, not degrees."""
PAIR = 2
CLOSED_RING = 4
"""A triangle and its first corner again, RFC 7946 section 3.1.6."""
NO_AREA = 1e-14
"""Twice the area of a square of a centimetre. [degrees squared]"""


def middle_of(geometry: object) -> Position:
    """Find the place that stands for a GeoJSON geometry.

    Parameters
    ----------
    geometry
        Point, Polygon or MultiPolygon; of several parts the largest counts.

    Returns
    -------
    tuple[float, float]
        Longitude and latitude: the point, or the centroid of the outer ring. [degrees]

    Raises
    ------
    ValueError
        Saying what is wrong with the geometry.
    """
    member = cast("dict[str, object]", geometry) if isinstance(geometry, dict) else {}
    kind, coordinates = member.get("type"), member.get("coordinates")
    if kind == "Point":
        return _position(coordinates)
    if kind == "Polygon":
        return _centroid(_outer(coordinates))[0]
    if kind == "MultiPolygon":
        parts = [_centroid(_outer(part)) for part in _list(coordinates)]
        if not parts:
            raise ValueError("the MultiPolygon has no part")
        return max(parts, key=lambda part: part[1])[0]
    raise ValueError(f"the geometry is {str(kind)[:40] if kind else 'missing'}")


def _list(value: object) -> list[object]:
    if not isinstance(value, list):
        raise ValueError("the coordinates are not lists")  # noqa: TRY004  one error to catch
    return cast("list[object]", value)


def _position(value: object) -> Position:
    numbers = _list(value)[:PAIR]
    if len(numbers) != PAIR:
        raise ValueError("a position is not [longitude, latitude]")
    lon, lat = (_finite(number) for number in numbers)
    return lon, lat


def _finite(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("a position is not two numbers")  # noqa: TRY004  one error to catch
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not abs(number) <= DEGREES:
        raise ValueError(f"{number:g} is not in degrees")
    return number


def _outer(polygon: object) -> list[Position]:
    rings = _list(polygon)
    if not rings:
        raise ValueError("the Polygon has no ring")
    ring = [_position(position) for position in _list(rings[0])]
    if len(ring) < CLOSED_RING:
        raise ValueError(
            f"the ring has {len(ring)} positions, a closed ring has {CLOSED_RING} or more"
        )
    if ring[0] != ring[-1]:
        raise ValueError("the ring is not closed: its last position is not its first")
    return ring


def _centroid(ring: list[Position]) -> tuple[Position, float]:
    """Centroid and area of a closed ring; sums start at a corner to keep small fields exact."""
    lon0, lat0 = ring[0]
    area = east = north = 0.0
    for (a, b), (c, d) in pairwise(ring):
        x0, y0, x1, y1 = a - lon0, b - lat0, c - lon0, d - lat0
        cross = x0 * y1 - x1 * y0
        area += cross
        east += (x0 + x1) * cross
        north += (y0 + y1) * cross
    if abs(area) < NO_AREA:
        raise ValueError("the ring encloses no area")
    return (lon0 + east / (3.0 * area), lat0 + north / (3.0 * area)), abs(area) / 2.0
