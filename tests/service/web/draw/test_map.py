"""The map of fields: places where they belong, within the picture, small enough for a phone."""

from __future__ import annotations

import math
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.web.draw.map import map_extent, map_svg
from rootbound_service.web.draw.place import extent_of
from service.web.draw.scene import NASTY, SVG, box, outside, read, spot

LON = st.floats(-180, 180, allow_nan=False)
LAT = st.floats(-89.9, 89.9, allow_nan=False)


def test_no_field_is_no_map():
    assert map_svg([]) == ""


def test_one_field_lies_in_the_middle_with_about_two_kilometres_around():
    root = read(map_svg([spot(1, -93.6, 42.0)]))
    dot = next(root.iter(f"{SVG}circle"))
    extent = map_extent([spot(1, -93.6, 42.0)])
    assert extent is not None
    assert float(dot.get("cx")) == pytest.approx(extent.width / 2, abs=0.1)
    assert float(dot.get("cy")) == pytest.approx(extent.height / 2, abs=0.1)
    assert 2 <= extent.km_wide <= 5


def test_a_field_links_to_its_page_and_says_its_name_rung_and_number():
    root = read(map_svg([spot(17, -93.6, 42.0)]))
    link = next(root.iter(f"{SVG}a"))
    assert link.get("href") == "/fields/17"
    assert link.get("aria-label") == link.findtext(f"{SVG}title") == "Field 17, 3 short"
    assert link.findtext(f"{SVG}text") == "3"
    assert "r3" in link.find(f"{SVG}circle").get("class")


def test_a_name_somebody_typed_stays_text():
    svg = map_svg([spot(1, 0.0, 0.0, about=NASTY)])
    assert "<script" not in svg
    assert next(read(svg).iter(f"{SVG}title")).text == NASTY


def test_a_dot_is_a_target_of_24_pixels_as_wcag_2_2_asks():
    dot = next(read(map_svg([spot(1, 0.0, 0.0)])).iter(f"{SVG}circle"))
    assert 2 * float(dot.get("r")) >= 24


def test_north_is_up_and_east_is_right():
    extent = extent_of([(-94.0, 41.0), (-93.0, 42.0)], 340.0)
    west, east = extent.at((-94.0, 41.0)), extent.at((-93.0, 42.0))
    assert east[0] > west[0]
    assert east[1] < west[1]


def test_the_scale_is_the_great_circle_distance_within_half_a_percent():
    extent = extent_of([(-94.0, 41.8), (-93.4, 42.2)], 340.0)
    a, b = extent.at((-94.0, 42.0)), extent.at((-93.4, 42.0))
    # Haversine on the mean sphere of 6371 km.
    half = math.sin(math.radians(0.3)) * math.cos(math.radians(42.0))
    true_km = 2 * 6371 * math.asin(half)
    assert (b[0] - a[0]) / extent.width * extent.km_wide == pytest.approx(true_km, rel=0.005)


def test_fields_on_both_sides_of_180_degrees_lie_beside_each_other():
    root = read(map_svg([spot(1, 179.9, -17.0), spot(2, -179.9, -17.0)]))
    first, second = ([*root.iter(f"{SVG}circle")])[::-1]
    assert 0 < float(second.get("cx")) - float(first.get("cx")) < 340
    extent = map_extent([spot(1, 179.9, -17.0), spot(2, -179.9, -17.0)])
    assert extent.km_wide < 30
    degrees = [one.text for one in root.iter(f"{SVG}text")]
    assert any(text.endswith("°W") for text in degrees)
    assert any(text.endswith("°E") for text in degrees)


def test_near_a_pole_no_parallel_goes_past_90_degrees():
    root = read(map_svg([spot(1, 10.0, 89.99), spot(2, 100.0, 89.0)]))
    assert outside(root) == []
    degrees = [one.text for one in root.iter(f"{SVG}text") if one.text.endswith("°N")]
    assert all(float(text[:-2]) <= 90 for text in degrees)


@settings(max_examples=120, deadline=None)
@given(st.lists(st.tuples(LON, LAT), min_size=1, max_size=30))
def test_wherever_fields_lie_the_map_is_well_formed_and_holds_them(places):
    root = read(map_svg([spot(i, *at) for i, at in enumerate(places)]))
    assert outside(root) == []


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(-93.7, -93.5), st.floats(41.9, 42.1)), min_size=2, max_size=25))
def test_no_dot_lies_on_another(places):
    root = read(map_svg([spot(i, *at) for i, at in enumerate(places)]))
    dots = [(float(one.get("cx")), float(one.get("cy"))) for one in root.iter(f"{SVG}circle")]
    apart = [math.dist(a, b) for i, a in enumerate(dots) for b in dots[:i]]
    assert all(gap >= 23.8 for gap in apart)


def test_every_field_of_a_square_is_counted_and_the_square_has_the_worst_rung():
    spots = [spot(i, -93.6, 42.0) for i in range(99)]
    root = read(map_svg([spot(100, -93.6, 42.0, kind="r4", sign="4"), *spots]))
    (link,) = root.iter(f"{SVG}a")
    assert [one.text for one in link.iter(f"{SVG}text")] == ["100", "rung 4"]
    assert "r4" in link.find(f"{SVG}rect").get("class")
    assert link.get("href") == "/fields/100"


def test_five_thousand_fields_stay_under_60_kb_and_are_all_counted():
    spots = [
        spot(i, -96 + (i * 7919 % 5000) / 900, 40 + (i * 104729 % 5000) / 1200) for i in range(5000)
    ]
    svg = map_svg(spots)
    assert len(svg) < 60_000
    many = [int(one.text) for one in read(svg).iter(f"{SVG}text") if "many" in one.get("class", "")]
    assert sum(many) == 5000
    # The best of three: another process may have the core for a while.
    assert min(_seconds(spots) for _ in range(3)) < 0.15


def test_a_hundred_shapes_of_a_thousand_corners_stay_under_90_kb():
    ring = tuple((0.02 * math.cos(n / 159.0), 0.02 * math.sin(n / 159.0)) for n in range(1000))
    spots = [
        spot(
            i,
            0.05 * (i % 12),
            0.05 * (i // 12),
            ring=tuple((x + 0.05 * (i % 12), y + 0.05 * (i // 12)) for x, y in ring),
        )
        for i in range(100)
    ]
    svg = map_svg(spots)
    assert len(svg) < 90_000
    assert outside(read(svg)) == []


def test_a_large_field_is_its_shape_and_a_small_one_a_dot():
    wide = ((-93.62, 41.98), (-93.58, 41.98), (-93.58, 42.02), (-93.62, 42.02), (-93.62, 41.98))
    small = tuple((lon / 1e3 - 93.3, lat / 1e3 + 42.0) for lon, lat in wide)
    root = read(map_svg([spot(1, -93.6, 42.0, ring=wide), spot(2, -93.3933, 42.042, ring=small)]))
    drawn = {one.get("href"): one[1].tag for one in root.iter(f"{SVG}a")}
    assert drawn == {"/fields/1": f"{SVG}polygon", "/fields/2": f"{SVG}circle"}


def test_borders_are_drawn_with_the_name_that_their_terms_ask_for():
    line = [(-93.61, 42.0), (-93.59, 42.0)]
    with_borders = read(map_svg([spot(1, -93.6, 42.0)], [line]))
    assert [one for one in with_borders.iter() if one.get("class") == "land"]
    told = [one.text for one in with_borders.iter(f"{SVG}text")]
    assert any("Census Bureau" in text for text in told)
    assert "Census" not in map_svg([spot(1, -93.6, 42.0)])


def test_the_picture_is_neither_flat_nor_steep_on_a_phone():
    for places in ([(-100.0, 42.0), (-80.0, 42.0)], [(-93.0, 30.0), (-93.0, 48.0)]):
        wide, tall = box(read(map_svg([spot(i, *at) for i, at in enumerate(places)])))
        assert 0.4 < tall / wide < 1.8


def _seconds(spots) -> float:
    start = time.perf_counter()
    map_svg(spots)
    return time.perf_counter() - start
