"""What every outline must be, whatever file it came in."""

from __future__ import annotations

import math

import pytest
from shapely.geometry import shape

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.place import time_zone_of
from rootbound_service.intake.shapes import geometry_of, outline_of


def circle(corners, radius=0.002, ragged=0.0):
    turn = [2 * math.pi * at / corners for at in range(corners)]
    ring = [
        [
            -93.62 + (radius + ragged * (at % 2)) * math.cos(angle),
            42.03 + (radius + ragged * (at % 2)) * math.sin(angle),
        ]
        for at, angle in enumerate(turn)
    ]
    return [*ring, ring[0]]


def test_a_crossing_is_refused_with_its_field_and_its_place(refusal, make) -> None:
    bow = [[-93.62, 42.03], [-93.61, 42.04], [-93.61, 42.03], [-93.62, 42.04], [-93.62, 42.03]]
    fine = make.feature(make.polygon(make.square), name="South")
    said = refusal(make.collection(fine, fine, make.feature(make.polygon(bow), name="North Forty")))
    # The diagonals of a square cross in its middle.
    assert said.startswith(
        "field 3 (North Forty): its outline crosses itself at lat 42.035000, lon -93.615000"
    )


def test_a_hole_outside_is_refused(refusal, make) -> None:
    away = [[lon + 0.02, lat] for lon, lat in make.square]
    assert "a hole lies outside the outline" in refusal(make.polygon(make.square, away))


def test_a_line_that_returns_on_itself_encloses_nothing(refusal, make) -> None:
    assert "field 1: its outline" in refusal(
        make.polygon([[-93.62, 42.03], [-93.61, 42.03], [-93.60, 42.03], [-93.62, 42.03]])
    )


def test_an_open_ring_is_refused(refusal, make) -> None:
    assert "an outline is not closed" in refusal(make.polygon(make.square[:-1]))


def test_a_garden_and_a_county_are_no_fields(refusal, make) -> None:
    garden = [[-93.62 + (lon + 93.62) / 50, 42.03 + (lat - 42.03) / 50] for lon, lat in make.square]
    county = [
        [-93.62 + (lon + 93.62) * 100, 42.03 + (lat - 42.03) * 100] for lon, lat in make.square
    ]
    assert "a field is 0.05 to 2,000 ha" in refusal(make.polygon(garden))
    assert "a field is 0.05 to 2,000 ha" in refusal(make.polygon(county))


def test_many_corners_are_kept_as_few_of_the_same_shape(read, make) -> None:
    ring = circle(1_900)
    (field,) = read(make.polygon(ring))
    drawn, kept = shape(make.polygon(ring)), shape(geometry_of(field))
    assert len(field.rings[0]) <= 400
    assert kept.is_valid
    assert kept.symmetric_difference(drawn).area < 0.002 * drawn.area
    assert "corners are kept" in field.notice


def test_what_is_kept_stays_as_it_is_when_read_again(read, make) -> None:
    (field,) = read(make.polygon(circle(1_900)))
    assert outline_of(geometry_of(field)).rings == field.rings


def test_more_corners_than_a_ring_may_have_are_refused(refusal, make) -> None:
    assert "has 2,002 corners" in refusal(make.polygon(circle(2_001)))


def test_more_shapes_than_a_file_may_hold_are_refused(read, refusal, make) -> None:
    one = make.feature({"type": "Point", "coordinates": [-93.62, 42.03]})
    assert len(read(make.collection(*[one] * 500))) == 500
    assert "holds too many shapes" in refusal(make.collection(*[one] * 501))


def test_corners_of_all_fields_together_are_counted(read, refusal, make) -> None:
    one = make.feature(make.polygon([[round(x, 6), round(y, 6)] for x, y in circle(1_990)]))
    assert len(read(make.collection(*[one] * 50))) == 50
    assert "holds too many shapes or corners" in refusal(make.collection(*[one] * 51))


def test_a_field_in_the_sea_is_refused(refusal, make) -> None:
    at_sea = [[lon + 50, lat] for lon, lat in make.square]
    assert time_zone_of(42.03, -43.62) is None
    assert "is in the ocean" in refusal(make.polygon(at_sea))


def test_signs_that_reach_around_the_globe_are_noticed(refusal, make) -> None:
    ring = [[-93.62, 42.03], [93.615, 42.03], [93.615, 42.034], [-93.62, 42.034], [-93.62, 42.03]]
    assert "spans more than half the globe" in refusal(make.polygon(ring))


def test_every_wrong_field_is_named_and_no_page_drowns(refusal, make) -> None:
    wrong = make.feature({"type": "Point", "coordinates": [-43.62, 42.03]}, name="<b>Sea\n</b>")
    said = refusal(make.collection(*[wrong] * 30)).splitlines()
    assert len(said) == 21
    assert said[1].startswith("field 2 (<b>Sea </b>):")
    assert "10 more are wrong" in said[-1]


def test_a_stored_outline_that_was_tampered_with_is_refused() -> None:
    with pytest.raises(RefusedInput, match="the stored outline"):
        outline_of({"type": "Polygon", "coordinates": "everywhere"})
