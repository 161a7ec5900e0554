"""The drawings of walls and pans, and the last weeks as a picture the size of a word."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.web.draw.spark import spark_svg
from rootbound_service.web.draw.wall import pan_svg, wall_svg
from service.web.draw.scene import SVG, box, outside, points, read

MM = st.one_of(st.just(math.nan), st.floats(-5, 400))


@pytest.mark.parametrize("draw", [wall_svg, pan_svg])
def test_the_four_classes_differ_by_shape_and_not_by_colour(draw):
    shapes = {frozenset(one.get("d", "") for one in read_plain(draw(k)).iter()) for k in range(4)}
    assert len(shapes) == 4
    for k in range(4):
        svg = draw(k)
        assert "#" not in svg
        assert 'aria-hidden="true"' in svg
        assert outside(read_plain(svg)) == []


@pytest.mark.parametrize("draw", [wall_svg, pan_svg])
def test_there_is_no_drawing_of_a_class_beyond_three(draw):
    with pytest.raises(KeyError):
        draw(4)


def test_fewer_roots_cross_the_wall_the_worse_its_class():
    """Roots whose last point lies beyond the furrow, 20 px from the row."""
    crossing = []
    for k in range(4):
        roots = [one for one in read_plain(wall_svg(k)).iter() if "root" in one.get("class", "")]
        ends = [one.get("d").split()[-2] for one in roots]
        crossing.append(sum(abs(float(x) - 60) > 20 for x in ends))
    assert crossing[0] > crossing[1] >= crossing[2] > crossing[3] == 0


def test_a_pan_has_as_many_bars_as_its_class():
    for k in range(4):
        bars = [one for one in read_plain(pan_svg(k)).iter() if "thick" in one.get("class", "")]
        assert len(bars) == k


@given(st.lists(MM, max_size=30), st.lists(MM, max_size=30))
def test_whatever_the_days_hold_the_small_picture_is_well_formed_and_within_its_edge(held, free):
    svg = spark_svg(held, free, "us")
    if svg:
        root = read(svg)
        assert outside(root) == []
        assert "nan" not in svg
        assert box(root) == (120.0, 28.0)


def test_fewer_than_two_known_days_are_no_picture():
    assert spark_svg([], [], "us") == ""
    assert spark_svg([math.nan, 12.0], [math.nan, 14.0], "us") == ""


def test_the_small_picture_says_first_and_last_of_both_twins():
    title = read(spark_svg([25.4, 12.7], [50.8, 38.1], "us")).findtext(f"{SVG}title")
    assert "Held roots from 1.0 in to 0.5 in" in title
    assert "free roots from 2.0 in to 1.5 in" in title


def test_the_wettest_day_lies_at_the_top_and_no_water_at_the_foot():
    root = read(spark_svg([40.0, 0.0], [40.0, 40.0], "us"))
    held = next(one for one in root.iter() if one.get("class") == "held")
    assert held.get("points") == "3,3 117,25"
    assert (117.0, 25.0) in points(root)


def read_plain(svg: str):
    """A drawing has no namespace: it stands inside a page."""
    return read(svg)
