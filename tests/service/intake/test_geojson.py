"""GeoJSON outlines: the middle of the outer ring, degrees of WGS84, longitude first."""

from __future__ import annotations

import json

import pytest

from rootbound_service.intake.many import import_file
from rootbound_service.intake.outline import middle_of

TRIANGLE = [[-93.0, 42.0], [-92.94, 42.0], [-93.0, 42.03], [-93.0, 42.0]]


@pytest.fixture
def features(field_values, write):
    """Write a file with a feature for each geometry."""
    properties = {key: value for key, value in field_values.items() if key not in {"lat", "lon"}}

    def run(*geometries, **members):
        listed = [
            {"type": "Feature", "properties": properties | {"name": f"F{at}"}, "geometry": geometry}
            for at, geometry in enumerate(geometries, 1)
        ]
        document = {"type": "FeatureCollection", "features": listed} | members
        return write("fields.geojson", json.dumps(document))

    return run


def test_the_middle_of_a_triangle_is_the_mean_of_its_corners() -> None:
    assert middle_of({"type": "Polygon", "coordinates": [TRIANGLE]}) == pytest.approx(
        (-92.98, 42.01), abs=1e-12
    )


def test_the_middle_of_an_l_is_not_the_mean_of_its_corners() -> None:
    # Two unit squares on a third: areas 2 and 1 with middles (1, 0.5) and (0.5, 1.5).
    ring = [[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2], [0, 0]]
    other_way = ring[::-1]

    for corners in (ring, other_way):
        assert middle_of({"type": "Polygon", "coordinates": [corners]}) == pytest.approx(
            ((2 * 1 + 1 * 0.5) / 3, (2 * 0.5 + 1 * 1.5) / 3)
        )


def test_of_several_parts_the_largest_stands_for_the_field() -> None:
    small = [[0, 0], [1, 0], [0, 1], [0, 0]]

    middle = middle_of(
        {"type": "MultiPolygon", "coordinates": [[small], [[[9, 9], [15, 9], [9, 15], [9, 9]]]]}
    )

    assert middle == pytest.approx((11, 11))


def test_points_and_outlines_become_fields(features, today) -> None:
    path = features(
        {"type": "Point", "coordinates": [-93.62, 42.03, 310]},
        {"type": "Polygon", "coordinates": [TRIANGLE]},
    )

    report = import_file(path, today=today)

    assert report.problems == ()
    assert [(field.lon, field.lat) for field in report.good] == [
        (-93.62, 42.03),
        pytest.approx((-92.98, 42.01)),
    ]


SHAPES = "give a Point or a closed Polygon of [longitude, latitude]"
WRONG = {
    "open ring": (
        {"type": "Polygon", "coordinates": [[*TRIANGLE[:3], [0, 0]]]},
        f"feature 1: the ring is not closed: its last position is not its first; {SHAPES}",
    ),
    "two corners": (
        {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [0, 0]]]},
        f"feature 1: the ring has 3 positions, a closed ring has 4 or more; {SHAPES}",
    ),
    "no area": (
        {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [2, 2], [0, 0]]]},
        f"feature 1: the ring encloses no area; {SHAPES}",
    ),
    "a line": (
        {"type": "LineString", "coordinates": [[0, 0], [1, 1]]},
        f"feature 1: the geometry is LineString; {SHAPES}",
    ),
    "nothing": (None, f"feature 1: the geometry is missing; {SHAPES}"),
    "metres": (
        {"type": "Point", "coordinates": [448000, 4650000]},
        f"feature 1: 448000 is not in degrees; {SHAPES}",
    ),
    "words": (
        {"type": "Point", "coordinates": ["-93", "42"]},
        f"feature 1: a position is not two numbers; {SHAPES}",
    ),
    "latitude first": (
        {"type": "Point", "coordinates": [42.03, -93.62]},
        (
            "feature 1, lon: latitude and longitude look swapped: "
            "did you mean lat 42.03, lon -93.62?; "
            "latitude counts north of the equator, longitude east of Greenwich"
        ),
    ),
}


@pytest.mark.parametrize(("geometry", "told"), WRONG.values(), ids=WRONG.keys())
def test_a_feature_that_cannot_be_placed_is_refused_alone(features, today, geometry, told) -> None:
    path = features(geometry, {"type": "Point", "coordinates": [-93.62, 42.03]})

    report = import_file(path, today=today)

    assert [str(problem) for problem in report.problems] == [told]
    assert [field.name for field in report.good] == ["F2"]


def crs(name):
    return {"type": "name", "properties": {"name": name}}


@pytest.mark.parametrize("name", ["urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326"])
def test_a_named_wgs84_is_accepted(features, today, name) -> None:
    path = features({"type": "Point", "coordinates": [-93.62, 42.03]}, crs=crs(name))

    assert len(import_file(path, today=today).good) == 1


@pytest.mark.parametrize(
    "member", [crs("urn:ogc:def:crs:EPSG::26915"), crs("EPSG:14326"), {"type": "link"}, "WGS"]
)
def test_another_reference_system_is_refused(features, today, said, member) -> None:
    path = features({"type": "Point", "coordinates": [-93.62, 42.03]}, crs=member)

    told = said(lambda: import_file(path, today=today))

    assert told[0].startswith("fields.geojson: is in another reference system")
    assert told[0].endswith("export it in WGS84 (EPSG:4326), degrees")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "is not JSON"),
        ("[]", "is not a GeoJSON FeatureCollection"),
        ('{"type": "FeatureCollection", "features": []}', "has no features"),
        ("[" * 200000, "is nested too deeply"),
    ],
)
def test_a_file_that_is_no_collection_is_refused(write, today, said, text, told) -> None:
    path = write("fields.json", text)

    assert told in said(lambda: import_file(path, today=today))[0]
