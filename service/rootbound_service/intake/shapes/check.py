"""From a shape as drawn to an outline that can be trusted."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from pydantic_core import PydanticCustomError

from rootbound_service.errors import Problem
from rootbound_service.intake.outline import CLOSED_RING, DEGREES, middle_of
from rootbound_service.intake.place import check_place
from rootbound_service.intake.shapes.limits import (
    ALL_CORNERS,
    AREA_HIGH_HA,
    AREA_LOW_HA,
    DECIMALS,
    PARTS,
    RING_CORNERS,
    SHAPES,
)
from rootbound_service.intake.shapes.names import name_of
from rootbound_service.intake.shapes.outlines import Drawn, Outline, Position, Ring, geometry_of
from rootbound_service.intake.shapes.planar import (
    area_ha,
    check_simple,
    fewer_corners,
    signed_area,
)
from rootbound_service.intake.shapes.refuse import Flaw, refused

DRAW = "draw the field as one closed outline"


def checked(shapes: Iterable[Drawn], file: str) -> tuple[Outline, ...]:
    """Check every shape of a file.

    Parameters
    ----------
    shapes
        As drawn; taken one by one, so that a file of too many is left early.
    file
        Where a fault of the whole file is found.

    Returns
    -------
    tuple[Outline, ...]
        One for each shape, in the order of the file.

    Raises
    ------
    RefusedInput
        With the faults of all shapes; nothing is taken of a file with one.
    """
    outlines: list[Outline] = []
    problems: list[Problem] = []
    corners = 0
    for number, drawn in enumerate(shapes, 1):
        corners += sum(len(ring) for part in drawn.polygons for ring in part)
        if number > SHAPES or corners > ALL_CORNERS:
            wanted = f"send at most {SHAPES} fields and {ALL_CORNERS:,} corners at once"
            raise refused([Problem(file, "holds too many shapes or corners", wanted)])
        name = name_of(drawn)
        try:
            outlines.append(outline_from(drawn, name or f"field {number}"))
        except Flaw as flaw:
            problems.append(flaw.at(f"field {number}" + (f" ({name})" if name else "")))
    if problems:
        raise refused(problems)
    if not outlines:
        raise refused([Problem(file, "holds no field", "export at least one")])
    return tuple(outlines)


def outline_from(drawn: Drawn, name: str) -> Outline:
    """Check one shape.

    Parameters
    ----------
    drawn
        As read.
    name
        What to call it.

    Returns
    -------
    Outline
        With few corners, closed and wound as RFC 7946 says.

    Raises
    ------
    Flaw
        Saying the first thing wrong.
    """
    if drawn.flaw:
        raise Flaw(drawn.flaw, DRAW)
    if not drawn.polygons:
        if drawn.point is None:
            raise Flaw("has no place", "draw its outline, or set a point in its middle")
        middle = _position(drawn.point)
        _check_land(middle)
        return Outline(name, (), 0.0, middle, drawn.properties, drawn.notice)
    if max(len(drawn.polygons), *(len(part) - 1 for part in drawn.polygons)) > PARTS:
        raise Flaw(f"has more than {PARTS} parts or holes", DRAW)
    parts = [[_ring(ring) for ring in part] for part in drawn.polygons if part]
    if not parts:
        raise Flaw("its outline is empty", DRAW)
    rings = _wound(max(parts, key=lambda part: abs(signed_area(part[0]))))
    _check_span(rings[0])
    _check_land(rings[0][0])
    check_simple(rings)
    area = area_ha(rings)
    _check_area(area)
    kept = fewer_corners(rings)
    middle = _middle(kept, drawn.properties)
    _check_land(middle)
    notice = _notice(drawn.notice, len(parts), sum(map(len, rings)), sum(map(len, kept)))
    return Outline(name, kept, round(area, 4), middle, drawn.properties, notice)


def _ring(drawn: list[Position]) -> Ring:
    """A ring without corners that repeat, to the centimetre."""
    if len(drawn) > RING_CORNERS:
        raise Flaw(
            f"an outline has {len(drawn):,} corners", f"draw it with at most {RING_CORNERS:,}"
        )
    ring: list[Position] = []
    for position in drawn:
        corner = _position(position)
        if not ring or corner != ring[-1]:
            ring.append(corner)
    if len(ring) > 1 and ring[0] != ring[-1]:
        raise Flaw("an outline is not closed", "let its last corner be its first again")
    if len(ring) < CLOSED_RING:
        raise Flaw("an outline has fewer than three corners", DRAW)
    return tuple(ring)


def _position(position: Position) -> Position:
    lon, lat = position
    if not (math.isfinite(lon) and math.isfinite(lat)):
        raise Flaw("a corner is not a number", "give degrees of WGS 84, longitude then latitude")
    if max(abs(lon), abs(lat)) > DEGREES:
        what = f"a corner lies at {lon:.7g}, {lat:.7g}, which is not in degrees"
        raise Flaw(what, "export it in WGS 84 (EPSG:4326)")
    if abs(lon) > DEGREES / 2 or abs(lat) > DEGREES / 4:
        if abs(lat) <= DEGREES / 2 and abs(lon) <= DEGREES / 2:
            _check_land((lon, lat))  # knows the two swapped
        wanted = "longitude is -180 to 180, latitude -90 to 90"
        raise Flaw(f"{lon:g}, {lat:g} is beyond the globe", wanted)
    return round(lon, DECIMALS), round(lat, DECIMALS)


def _wound(part: list[Ring]) -> tuple[Ring, ...]:
    """The right-hand rule of RFC 7946 section 3.1.6; shapefiles wind the other way."""
    outer, *holes = part
    turned = [ring if signed_area(ring) < 0.0 else ring[::-1] for ring in holes]
    return (outer if signed_area(outer) > 0.0 else outer[::-1], *turned)


def _check_span(ring: Ring) -> None:
    lons = [lon for lon, _ in ring]
    if max(lons) - min(lons) > DEGREES / 2:
        raise Flaw(
            "its outline spans more than half the globe",
            "check the signs of its longitudes; cut a field on the 180th meridian in two",
        )


def _check_land(middle: Position) -> None:
    try:
        check_place(middle[1], middle[0])
    except PydanticCustomError as error:
        context = error.context or {}
        raise Flaw(str(context["what"]), str(context["wanted"])) from None


def _check_area(area: float) -> None:
    if AREA_LOW_HA <= area <= AREA_HIGH_HA:
        return
    wanted = f"a field is {AREA_LOW_HA:g} to {AREA_HIGH_HA:,.0f} ha (0.12 to 4,900 acres)"
    size = f"{area:,.0f}" if area > AREA_HIGH_HA else f"{area:.3g}"
    raise Flaw(f"its outline encloses {size} ha", wanted)


def _middle(rings: tuple[Ring, ...], properties: Mapping[str, str]) -> Position:
    """The same place that a file of fields gets by the other road."""
    geometry = geometry_of(Outline("", rings, 0.0, rings[0][0], properties))
    try:
        lon, lat = middle_of(geometry)
    except ValueError as error:
        raise Flaw(str(error), DRAW) from None
    return round(lon, DECIMALS), round(lat, DECIMALS)


def _notice(before: str, parts: int, drawn: int, kept: int) -> str:
    said = [before] if before else []
    if parts > 1:
        said.append(f"The largest of its {parts} parts counts.")
    if kept < drawn:
        said.append(f"{kept} of its {drawn} corners are kept.")
    return " ".join(said)
