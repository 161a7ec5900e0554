"""Shapes of a GeoJSON text, RFC 7946."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import NoReturn, cast

from rootbound_service.intake.geojson import WGS84_NAMES
from rootbound_service.intake.shapes.limits import DIGITS
from rootbound_service.intake.shapes.names import clean, clean_properties
from rootbound_service.intake.shapes.outlines import Drawn, Position
from rootbound_service.intake.shapes.refuse import Flaw

Member = dict[str, object]
EXPORT = "export the fields as plain GeoJSON"
PAIR = 2


def drawn_of_geojson(data: bytes) -> Iterator[Drawn]:
    """Take the shapes out of a text.

    Parameters
    ----------
    data
        A FeatureCollection, a Feature or a bare geometry, UTF-8.

    Yields
    ------
    Drawn
        One for each feature.

    Raises
    ------
    Flaw
        If the text is not GeoJSON at all.
    """
    document = _document(data)
    _check_crs(document.get("crs"))
    kind = document.get("type")
    if kind == "FeatureCollection":
        features = document.get("features")
        for item in cast("list[object]", features) if isinstance(features, list) else []:
            yield _feature(_member(item))
    elif kind == "Feature":
        yield _feature(document)
    elif "coordinates" in document or "geometries" in document:
        yield drawn_of_geometry(document)
    else:
        raise Flaw("is not GeoJSON", EXPORT)


def drawn_of_geometry(geometry: object) -> Drawn:
    """Take the rings or the point out of a geometry; its fault stays with it."""
    member = _member(geometry)
    kind, coordinates = member.get("type"), member.get("coordinates")
    try:
        if kind == "Point":
            return Drawn([], _position(coordinates))
        if kind == "Polygon":
            return Drawn([_polygon(coordinates)])
        if kind == "MultiPolygon":
            parts = [_polygon(part) for part in _list(coordinates)]
            return Drawn(parts) if parts else Drawn([], flaw="its MultiPolygon has no part")
    except ValueError as error:
        return Drawn([], flaw=str(error))
    what = f"its geometry is a {clean(kind, 40)}" if kind else "has no geometry"
    return Drawn([], flaw=what)


def _feature(member: Member) -> Drawn:
    properties = clean_properties(_member(member.get("properties")).items())
    if member.get("type") != "Feature":
        return Drawn([], properties=properties, flaw="is not a Feature")
    shape = drawn_of_geometry(member.get("geometry"))
    return Drawn(shape.polygons, shape.point, properties, flaw=shape.flaw)


def _document(data: bytes) -> Member:
    try:
        document: object = json.loads(
            data.decode("utf-8-sig"), parse_int=_integer, parse_constant=_constant
        )
    except UnicodeDecodeError:
        raise Flaw("is not in UTF-8", EXPORT) from None
    except RecursionError:
        raise Flaw("is nested too deeply", EXPORT) from None
    except json.JSONDecodeError as error:
        what = f"is not JSON: {error.msg} in line {error.lineno}, column {error.colno}"
        raise Flaw(what, EXPORT) from None
    if not isinstance(document, dict):
        raise Flaw("is not a GeoJSON object", EXPORT)
    return cast("Member", document)


def _integer(digits: str) -> int:
    if len(digits) > DIGITS:
        raise Flaw(f"holds a number of {len(digits)} digits", EXPORT)
    return int(digits)


def _constant(name: str) -> NoReturn:
    raise Flaw(f"holds {name} in place of a number", EXPORT)


def _check_crs(crs: object) -> None:
    """RFC 7946 section 4: degrees of WGS 84 and nothing else; older files may name it."""
    if crs is None:
        return
    named = clean(_member(_member(crs).get("properties")).get("name", "one without a name"), 60)
    if not named.upper().endswith(WGS84_NAMES):
        raise Flaw(f"is in another reference system, {named}", "export it in WGS 84 (EPSG:4326)")


def _polygon(value: object) -> list[list[Position]]:
    rings = [[_position(position) for position in _list(ring)] for ring in _list(value)]
    if not rings:
        raise ValueError("its Polygon has no ring")
    return rings


def _position(value: object) -> Position:
    numbers = _list(value)
    if len(numbers) < PAIR:
        raise ValueError("a position is not [longitude, latitude]")
    return _number(numbers[0]), _number(numbers[1])


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError("a position is not two numbers")
    return float(value)


def _list(value: object) -> list[object]:
    if not isinstance(value, list):
        raise ValueError("its coordinates are not lists")  # noqa: TRY004  one error to catch
    return cast("list[object]", value)


def _member(value: object) -> Member:
    """A JSON object as it is, anything else as an empty one."""
    return cast("Member", value) if isinstance(value, dict) else {}
