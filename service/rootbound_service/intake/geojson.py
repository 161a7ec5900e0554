"""Fields as a GeoJSON FeatureCollection: points, or outlines whose middle is taken."""

from __future__ import annotations

import json
from pathlib import Path
from typing import cast

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.files import read_text_file
from rootbound_service.intake.labels import feature
from rootbound_service.intake.outline import middle_of
from rootbound_service.intake.report import Row

Member = dict[str, object]

WGS84_NAMES = ("CRS84", "EPSG:4326", "EPSG::4326")


def read_geojson(path: Path) -> list[Row]:
    """Read the fields of a GeoJSON file.

    Parameters
    ----------
    path
        A FeatureCollection of Point, Polygon or MultiPolygon, [longitude, latitude] in
        WGS84; the properties carry the columns that a table would have.

    Returns
    -------
    list[Row]
        One for each feature; one that cannot be placed carries its problem.

    Raises
    ------
    RefusedInput
        If it is not a FeatureCollection, is empty or is in another reference system.
    """
    document = _document(path)
    if document.get("type") != "FeatureCollection":
        raise _refused(path, "is not a GeoJSON FeatureCollection", "export the fields as one")
    _check_crs(path, document.get("crs"))
    features = document.get("features")
    if not isinstance(features, list) or not features:
        raise _refused(path, "has no features", "export at least one field")
    return [_row(number, item) for number, item in enumerate(cast("list[object]", features), 1)]


def _document(path: Path) -> Member:
    try:
        document: object = json.loads(read_text_file(path))
    except RecursionError:
        raise _refused(path, "is nested too deeply", "export it as plain GeoJSON") from None
    except ValueError as error:
        raise _refused(path, f"is not JSON: {error}", "export it as GeoJSON") from None
    return _member(document)


def _check_crs(path: Path, crs: object) -> None:
    """Refuse coordinates that are not degrees of WGS84, which RFC 7946 section 4 demands."""
    if crs is None:
        return
    named = _member(_member(crs).get("properties")).get("name", "one without a name")
    if not str(named).upper().endswith(WGS84_NAMES):
        what = f"is in another reference system, {str(named)[:60]}"
        raise _refused(path, what, "export it in WGS84 (EPSG:4326), degrees")


def _row(number: int, item: object) -> Row:
    place, label = f"feature {number}", feature(number)
    member = _member(item)
    properties = _member(member.get("properties"))
    if member.get("type") != "Feature" or not properties:
        problem = Problem(place, "is not a Feature with properties", "export the field as one")
        return Row(place, label, {}, (problem,))
    values = {str(key).strip().lower(): cell for key, cell in properties.items()}
    try:
        lon, lat = middle_of(member.get("geometry"))
    except ValueError as error:
        wanted = "give a Point or a closed Polygon of [longitude, latitude]"
        return Row(place, label, values, (Problem(place, str(error), wanted),))
    return Row(place, label, {**values, "lat": lat, "lon": lon})


def _member(value: object) -> Member:
    """A JSON object as it is, anything else as an empty one."""
    return cast("Member", value) if isinstance(value, dict) else {}


def _refused(path: Path, what: str, wanted: str) -> RefusedInput:
    return RefusedInput((Problem(path.name, what, wanted),))
