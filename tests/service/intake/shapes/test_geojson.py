"""GeoJSON as RFC 7946 has it, appendix A's own examples among them."""

from __future__ import annotations

import json

import pytest
from pyproj import Transformer
from shapely.geometry import shape

from rootbound_service.intake.shapes import geometry_of, outline_of


def test_a_field_keeps_its_name_its_outline_and_what_else_is_said_of_it(read, make) -> None:
    (field,) = read(
        make.collection(
            make.feature(make.polygon(make.square), name="North Forty", soil="loam", rows=8)
        )
    )
    assert field.name == "North Forty"
    assert field.properties == {"name": "North Forty", "soil": "loam", "rows": "8"}
    assert [list(corner) for corner in field.rings[0]] == make.square
    assert field.middle == pytest.approx((-93.6175, 42.032), abs=1e-7)
    assert field.notice == ""


def test_the_area_is_that_of_the_plane_of_the_utm_zone(read, make) -> None:
    (field,) = read(make.polygon(make.square))
    to_utm = Transformer.from_crs("EPSG:4326", "EPSG:32615", always_xy=True)
    xs, ys = to_utm.transform(*zip(*make.square, strict=True))
    plane = shape({"type": "Polygon", "coordinates": [list(zip(xs, ys, strict=True))]}).area
    # The scale of UTM is 0.9996 at the zone's middle meridian, here half a degree away.
    assert field.area_ha == pytest.approx(plane / 0.9996**2 / 10_000, rel=2e-4)


def test_rings_come_out_wound_by_the_right_hand_rule(read, make) -> None:
    hole = [
        [-93.619, 42.031],
        [-93.618, 42.031],
        [-93.618, 42.032],
        [-93.619, 42.032],
        [-93.619, 42.031],
    ]
    for outer, inner in ((make.square, hole), (make.square[::-1], hole[::-1])):
        (field,) = read(make.polygon(outer, inner))
        got = shape(geometry_of(field))
        assert got.exterior.is_ccw  # RFC 7946 section 3.1.6
        assert not got.interiors[0].is_ccw


def test_a_hole_takes_its_area_away(read, make) -> None:
    hole = [
        [-93.619, 42.031],
        [-93.6165, 42.031],
        [-93.6165, 42.033],
        [-93.619, 42.033],
        [-93.619, 42.031],
    ]
    (whole,), (holed,) = read(make.polygon(make.square)), read(make.polygon(make.square, hole))
    assert holed.area_ha == pytest.approx(0.75 * whole.area_ha, rel=1e-3)


def test_of_several_parts_the_largest_counts_and_it_is_said(read, make) -> None:
    small = [[lon - 0.01 * 0, lat + 0.01] for lon, lat in make.square]
    small = [[-93.62 + (lon + 93.62) / 4, lat] for lon, lat in small]
    (field,) = read({"type": "MultiPolygon", "coordinates": [[small], [make.square]]})
    assert [list(corner) for corner in field.rings[0]] == make.square
    assert field.notice == "The largest of its 2 parts counts."


def test_a_point_is_a_middle_without_an_outline(read, make) -> None:
    (field,) = read(
        make.feature({"type": "Point", "coordinates": [-93.62, 42.03, 310]}, Field="West")
    )
    assert (field.name, field.rings, field.area_ha, field.middle) == (
        "West",
        (),
        0.0,
        (-93.62, 42.03),
    )


def test_a_stored_outline_is_read_again_as_it_was(read, make) -> None:
    (field,) = read(make.polygon(make.square))
    again = outline_of(json.loads(json.dumps(geometry_of(field))))
    assert (again.rings, again.area_ha, again.middle) == (field.rings, field.area_ha, field.middle)


def test_the_point_of_the_standard_is_read(read) -> None:
    (place,) = read('{"type": "Point", "coordinates": [100.0, 0.0]}')  # RFC 7946 appendix A.1
    assert place.middle == (100.0, 0.0)


SQUARE_DEGREE = [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]
HOLE = [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]]
ANOTHER = [[102.0, 2.0], [103.0, 2.0], [103.0, 3.0], [102.0, 3.0], [102.0, 2.0]]
LINE = [[100.0, 0.0], [101.0, 1.0]]
HECTARES = "a field is 0.05 to 2,000 ha"


# The geometries of RFC 7946 appendix A.2 to A.7; a square degree at the equator has 12,309 km2.
@pytest.mark.parametrize(
    ("kind", "coordinates", "says"),
    [
        ("LineString", LINE, "its geometry is a LineString"),
        ("Polygon", [SQUARE_DEGREE], "encloses 1,230,8"),
        ("Polygon", [SQUARE_DEGREE, HOLE], HECTARES),
        ("MultiPoint", LINE, "its geometry is a MultiPoint"),
        ("MultiLineString", [LINE, [[102.0, 2.0], [103.0, 3.0]]], "its geometry is a MultiLineStr"),
        ("MultiPolygon", [[ANOTHER], [SQUARE_DEGREE, HOLE]], HECTARES),
        ("GeometryCollection", None, "its geometry is a GeometryCollection"),
    ],
)
def test_the_other_examples_of_the_standard_are_no_fields(refusal, kind, coordinates, says) -> None:
    parts = [{"type": "Point", "coordinates": [100.0, 0.0]}, {"type": "LineString"}]
    rest = {"geometries": parts} if coordinates is None else {"coordinates": coordinates}
    assert says in refusal({"type": kind} | rest)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[" * 100_000, "is none of the kinds we read"),
        ('{"a":' * 100_000, "is nested too deeply"),
        ('{"type": "Point", "coordinates": [NaN, 42]}', "holds NaN in place of a number"),
        (
            '{"type": "Point", "coordinates": [-Infinity, 42]}',
            "holds -Infinity in place of a number",
        ),
        ('{"type": "Point", "coordinates": [1e999, 42]}', "a position is not two numbers"),
        (
            '{"type": "Point", "coordinates": [' + "9" * 5000 + ", 42]}",
            "holds a number of 5000 digits",
        ),
        ('{"type": "Point", "coordinates": [true, 42]}', "a position is not two numbers"),
        ('{"type": "Point", "coordinates": [500000, 4650000]}', "which is not in degrees"),
        (
            '{"type": "Point", "coordinates": [42.03, -93.62]}',
            "did you mean lat 42.03, lon -93.62?",
        ),
        ('{"type": "Point", "coordinates": [200, 42]}', "200, 42 is beyond the globe"),
        ('{"type": "Polygon", "coordinates": []}', "its Polygon has no ring"),
        ('{"type": "Polygon", "coordinates": [[]]}', "fewer than three corners"),
        ('{"type": "Feature", "geometry": null, "properties": null}', "has no geometry"),
        ('{"type": "FeatureCollection", "features": []}', "holds no field"),
        ('{"type": "Topology"}', "is not GeoJSON"),
        ('{"type": "Point"', "is not JSON"),
        ("", "is empty"),
        (b'{"a": "\xff"}', "is not in UTF-8"),
    ],
)
def test_what_is_no_place_is_refused_with_its_reason(refusal, text, says) -> None:
    assert says in refusal(text)


def test_a_key_given_twice_is_taken_as_given_last(read) -> None:
    (field,) = read('{"type": "Point", "coordinates": [0, 0], "coordinates": [-93.62, 42.03]}')
    assert field.middle == (-93.62, 42.03)


def test_another_reference_system_is_refused_by_its_name(refusal, make) -> None:
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26915"}}
    said = refusal(make.collection(make.feature(make.polygon(make.square)), crs=crs))
    assert "EPSG::26915" in said
    assert "WGS 84" in said
