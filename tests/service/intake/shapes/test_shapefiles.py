"""Zipped shapefiles, written by another hand and projected by another road."""

from __future__ import annotations

import io
import math
import struct

import pytest
import shapefile
from pyproj import CRS

from rootbound_service.intake.shapes.shp_frame import check_frame

UTM_15N = CRS.from_epsg(26915).to_wkt("WKT1_ESRI")
WGS84 = CRS.from_epsg(4326).to_wkt("WKT1_ESRI")
GRID = "+proj=utm +zone=15 +ellps=GRS80"
EAST, NORTH = 448_700.0, 4_653_400.0


def clockwise(x, y, side):
    return [[x, y], [x, y + side], [x + side, y + side], [x + side, y], [x, y]]


def written(*shapes, kind=shapefile.POLYGON, encoding="utf-8"):
    """A shapefile's three files; each shape is (name, rings)."""
    shp, shx, dbf = io.BytesIO(), io.BytesIO(), io.BytesIO()
    with shapefile.Writer(shp=shp, shx=shx, dbf=dbf, shapeType=kind, encoding=encoding) as writer:
        writer.field("NAME", "C", size=40)
        writer.field("ACRES", "N", decimal=1)
        for name, rings in shapes:
            if kind == shapefile.POLYGON:
                writer.poly(rings)
            elif kind == shapefile.POINT:
                writer.point(*rings)
            else:
                writer.line(rings)
            writer.record(name, 40.0)
    return {"farm.shp": shp.getvalue(), "farm.shx": shx.getvalue(), "farm.dbf": dbf.getvalue()}


def utm_by_series(east, north, zone):
    """Longitude and latitude in UTM: Snyder, USGS Professional Paper 1395, eqs 8-17 to 8-25."""
    a, f, k0 = 6_378_137.0, 1 / 298.257222101, 0.9996
    e2 = f * (2 - f)
    ep2, x = e2 / (1 - e2), east - 500_000.0
    mu = north / k0 / (a * (1 - e2 / 4 - 3 * e2**2 / 64 - 5 * e2**3 / 256))
    e1 = (1 - math.sqrt(1 - e2)) / (1 + math.sqrt(1 - e2))
    phi = mu + (3 * e1 / 2 - 27 * e1**3 / 32) * math.sin(2 * mu)
    phi += (21 * e1**2 / 16 - 55 * e1**4 / 32) * math.sin(4 * mu) + 151 * e1**3 / 96 * math.sin(
        6 * mu
    )
    c, t = ep2 * math.cos(phi) ** 2, math.tan(phi) ** 2
    n = a / math.sqrt(1 - e2 * math.sin(phi) ** 2)
    r = a * (1 - e2) / (1 - e2 * math.sin(phi) ** 2) ** 1.5
    d = x / (n * k0)
    lat = d**2 / 2 - (5 + 3 * t + 10 * c - 4 * c**2 - 9 * ep2) * d**4 / 24
    lat = phi - n * math.tan(phi) / r * lat
    lon = (
        d
        - (1 + 2 * t + c) * d**3 / 6
        + (5 - 2 * c + 28 * t - 3 * c**2 + 8 * ep2 + 24 * t**2) * d**5 / 120
    )
    return math.degrees(lon / math.cos(phi)) + zone * 6 - 183, math.degrees(lat)


def test_a_utm_shapefile_lands_where_the_series_of_snyder_puts_it(read, make) -> None:
    files = written(("North Forty", [clockwise(EAST, NORTH, 400.0)])) | {"farm.prj": UTM_15N}
    (field,) = read(make.zipped(files), "farm.zip")
    wanted = {utm_by_series(x, y, 15) for x, y in clockwise(EAST, NORTH, 400.0)}
    for lon, lat in field.rings[0]:
        assert min(math.hypot(lon - a, lat - b) for a, b in wanted) < 3e-7  # 3 cm
    assert field.area_ha == pytest.approx(16.0 / 0.9996**2, rel=2e-4)
    assert (field.name, field.properties["ACRES"], field.notice) == ("North Forty", "40.0", "")


def test_without_a_prj_degrees_are_taken_and_it_is_said(read, make) -> None:
    (field,) = read(make.zipped(written(("West", [clockwise(-93.62, 42.03, 0.004)]))))
    assert field.rings[0][0] == (-93.62, 42.03)
    assert "has no .prj" in field.notice


def test_without_a_prj_metres_are_refused(refusal, make) -> None:
    said = refusal(make.zipped(written(("West", [clockwise(EAST, NORTH, 400.0)]))))
    assert "field 1 (West)" in said
    assert "not in degrees" in said


def test_holes_find_their_part_and_the_largest_part_counts(read, make) -> None:
    small, large = clockwise(-93.63, 42.03, 0.002), clockwise(-93.62, 42.03, 0.004)
    hole = clockwise(-93.619, 42.031, 0.001)[::-1]
    files = written(("Two", [small, large, hole])) | {"farm.prj": WGS84}
    (field,) = read(make.zipped(files))
    assert len(field.rings) == 2
    assert field.notice == "The largest of its 2 parts counts."


def test_rings_wound_the_wrong_way_are_still_fields(read, make) -> None:
    files = written(("Odd", [clockwise(-93.62, 42.03, 0.004)])) | {"farm.prj": WGS84}
    shp = bytearray(files["farm.shp"])
    at = 100 + 8 + 44 + 4
    corners = [bytes(shp[at + 16 * n : at + 16 * (n + 1)]) for n in range(5)]
    shp[at : at + 80] = b"".join(reversed(corners))
    (field,) = read(make.zipped(files | {"farm.shp": bytes(shp)}))
    assert field.area_ha > 10


def test_points_and_names_of_older_encodings_are_read(read, make) -> None:
    files = written(("Søndre", (-93.62, 42.03)), kind=shapefile.POINT, encoding="cp1252")
    (field,) = read(make.zipped(files | {"farm.prj": WGS84}))
    assert (field.name, field.middle, field.rings) == ("Søndre", (-93.62, 42.03), ())


def test_a_shapefile_without_its_table_has_numbered_fields(read, make) -> None:
    files = written(("West", [clockwise(-93.62, 42.03, 0.004)])) | {"farm.prj": WGS84}
    del files["farm.dbf"]
    assert read(make.zipped(files))[0].name == "field 1"


def test_upper_case_names_in_a_folder_are_found(read, make) -> None:
    files = written(("West", [clockwise(-93.62, 42.03, 0.004)])) | {"farm.prj": WGS84}
    assert read(make.zipped({f"Farm/{name.upper()}": body for name, body in files.items()}))


@pytest.mark.parametrize(
    ("prj", "says"),
    [
        (b"", "names no reference system"),
        (b"nonsense", "names no reference system"),
        (b"\xff\xfe\x00", "names no reference system"),
        (b'LOCAL_CS["yard",UNIT["metre",1]]', "is not of a map"),
        (CRS.from_epsg(4978).to_wkt().encode(), "is not of a map"),
        (CRS.from_proj4(f"{GRID} +nadgrids=/etc/hostname").to_wkt().encode(), "is not a plain one"),
        (UTM_15N.encode() + b" " * 30_000, "is not a plain one"),
    ],
)
def test_an_unknown_reference_system_is_refused(refusal, make, prj, says) -> None:
    files = written(("West", [clockwise(EAST, NORTH, 400.0)])) | {"farm.prj": prj}
    assert f"its .prj {says}" in refusal(make.zipped(files))


def test_lines_are_no_fields(refusal, make) -> None:
    files = written(("Road", [clockwise(-93.62, 42.03, 0.004)]), kind=shapefile.POLYLINE)
    assert "not polygons or points" in refusal(make.zipped(files))


def test_a_bare_shp_and_two_shapefiles_are_refused_with_what_to_do(refusal, make) -> None:
    files = written(("West", [clockwise(-93.62, 42.03, 0.004)]))
    assert "zip the .shp with its .dbf and .prj" in refusal(files["farm.shp"])
    assert "holds 2 shapefiles" in refusal(make.zipped(files | {"other.shp": files["farm.shp"]}))


@pytest.mark.parametrize(
    ("at", "form", "value"),
    [(0, ">i", 1), (104, ">i", -5), (104, ">i", 2**30), (108, "<i", 3)]
    + [(144, "<i", n) for n in (-1, 0, 99, 2**31 - 1)]
    + [(148, "<i", n) for n in (-1, 0, 6, 2**31 - 1)]
    + [(152, "<i", n) for n in (-1, 1, 9)],
)
def test_counts_that_do_not_fit_the_file_are_refused(refusal, make, at, form, value) -> None:
    files = written(("West", [clockwise(-93.62, 42.03, 0.004)]))
    shp = bytearray(files["farm.shp"])
    check_frame(bytes(shp))
    struct.pack_into(form, shp, at, value)
    said = refusal(make.zipped(files | {"farm.shp": bytes(shp)}))
    assert ".shp" in said or "too many parts or corners" in said


def test_a_shp_that_is_shorter_than_it_says_is_refused(refusal, make) -> None:
    files = written(("West", [clockwise(-93.62, 42.03, 0.004)]))
    for shp in (files["farm.shp"][:-16], files["farm.shp"] + b"\0" * 16):
        assert "cut short or longer" in refusal(make.zipped(files | {"farm.shp": shp}))


@pytest.mark.parametrize("dbf", [b"", b"\x03", b"\xff" * 80])
def test_a_broken_table_is_refused(refusal, make, dbf) -> None:
    files = written(("West", [clockwise(-93.62, 42.03, 0.004)]))
    assert "its .dbf is broken" in refusal(make.zipped(files | {"farm.dbf": dbf}))
