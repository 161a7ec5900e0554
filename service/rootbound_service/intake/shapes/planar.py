"""Whether a ring crosses itself, what it encloses, and the same shape with fewer corners."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from rootbound_service.intake.shapes.limits import DECIMALS, KEPT_CORNERS
from rootbound_service.intake.shapes.outlines import Position, Ring
from rootbound_service.intake.shapes.refuse import Flaw

if TYPE_CHECKING:
    from shapely import Polygon

METRES_PER_DEGREE = 111_000.0
FINEST_M = 0.25
COARSEST_M = 200.0
WHERE_TO_MEND = "move the corners there until no side crosses another, then export again"


def signed_area(ring: Ring | list[Position]) -> float:
    """Area of a closed ring, positive if counterclockwise. [degrees squared]"""
    lon0, lat0 = ring[0]
    return 0.5 * sum(
        (a - lon0) * (d - lat0) - (c - lon0) * (b - lat0) for (a, b), (c, d) in pairwise(ring)
    )


def lies_within(position: Position, ring: Ring | list[Position]) -> bool:
    """Whether a line to the east of a position leaves the ring an odd number of times."""
    lon, lat = position
    inside = False
    for (a, b), (c, d) in pairwise(ring):
        if (b > lat) != (d > lat) and lon < a + (lat - b) * (c - a) / (d - b):
            inside = not inside
    return inside


def area_ha(rings: tuple[Ring, ...]) -> float:
    """Area on the ellipsoid, without the holes. [ha]"""
    from pyproj import Geod

    geod = Geod(ellps="WGS84")
    areas: list[float] = []
    for ring in rings:
        lons, lats = zip(*ring, strict=True)
        areas.append(abs(geod.polygon_area_perimeter(lons, lats)[0]) / 10_000.0)
    return areas[0] - sum(areas[1:])


def check_simple(rings: tuple[Ring, ...]) -> None:
    """Refuse rings that cross themselves or one another.

    Parameters
    ----------
    rings
        Closed, the outer one first. [degrees]

    Raises
    ------
    Flaw
        Naming the place of the crossing.
    """
    import shapely

    reason = str(shapely.is_valid_reason(shapely.Polygon(rings[0], rings[1:])))
    if reason == "Valid Geometry":
        return
    kind, _, place = reason.partition("[")
    what = {
        "Self-intersection": "its outline crosses itself",
        "Ring Self-intersection": "its outline touches itself",
        "Hole lies outside shell": "a hole lies outside the outline",
        "Holes are nested": "a hole lies within another",
        "Duplicate Rings": "two of its rings are the same",
        "Interior is disconnected": "its holes cut it in two",
    }.get(kind.strip(), f"its outline is not a plain shape ({kind.strip().lower()})")
    raise Flaw(what + _at(place), WHERE_TO_MEND)


def _at(place: str) -> str:
    """The library's "-93.5 42.1]" as words; it gives no place for some faults."""
    try:
        lon, lat = (float(number) for number in place.rstrip("]").split()[:2])
    except ValueError:
        return ""
    return f" at lat {lat:.6f}, lon {lon:.6f}"


def fewer_corners(rings: tuple[Ring, ...]) -> tuple[Ring, ...]:
    """Leave out corners that change the outline least, until every ring has few.

    Parameters
    ----------
    rings
        Simple, closed, the outer one first. [degrees]

    Returns
    -------
    tuple[Ring, ...]
        As given where it has few enough.

    Raises
    ------
    Flaw
        If the outline is too ragged for that.
    """
    if max(len(ring) for ring in rings) <= KEPT_CORNERS:
        return rings
    import shapely

    stretch = max(math.cos(math.radians(rings[0][0][1])), 1e-6)  # east-west degrees are shorter
    scaled = [[(lon * stretch, lat) for lon, lat in ring] for ring in rings]
    whole = shapely.Polygon(scaled[0], scaled[1:])
    tolerance_m = FINEST_M
    while tolerance_m <= COARSEST_M:
        simplified = whole.simplify(tolerance_m / METRES_PER_DEGREE, preserve_topology=True)
        lighter = cast("Polygon", simplified)
        drawn = (lighter.exterior, *lighter.interiors)
        if max(len(ring.coords) for ring in drawn) <= KEPT_CORNERS:
            return _unscaled(lighter, stretch)
        tolerance_m *= 2.0
    raise Flaw("its outline is too ragged", f"draw it with {KEPT_CORNERS} corners or fewer")


def _unscaled(shape: Polygon, stretch: float) -> tuple[Ring, ...]:
    return tuple(
        tuple((round(x / stretch, DECIMALS), round(y, DECIMALS)) for x, y in ring.coords)
        for ring in (shape.exterior, *shape.interiors)
    )
