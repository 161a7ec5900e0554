"""Rows from outlines: known properties become cells, a bad shape stops no other."""

from __future__ import annotations

import json

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.shape_rows import shape_rows

SQUARE = [[-93.62, 42.03], [-93.615, 42.03], [-93.615, 42.034], [-93.62, 42.034], [-93.62, 42.03]]


def text(*features):
    return json.dumps({"type": "FeatureCollection", "features": list(features)}).encode()


def feature(geometry, **properties):
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def square():
    return {"type": "Polygon", "coordinates": [SQUARE]}


def test_properties_that_are_ours_become_cells_and_the_others_are_named():
    found = shape_rows(text(feature(square(), Field_Name="Oak", Planted="2026-05-01", ID=9)))
    (row,) = found.rows

    assert row.values["name"] == "Oak"
    assert row.values["planted"] == "2026-05-01"
    assert "id" not in row.values
    assert found.unused == ("ID",)
    assert found.outlines[row.place].area_ha == pytest.approx(18.4, abs=0.3)


def test_a_field_given_as_a_point_has_a_place_and_no_outline():
    found = shape_rows(text(feature({"type": "Point", "coordinates": [-93.6, 42.0]}, name="Spot")))

    assert (found.rows[0].values["lat"], found.rows[0].values["lon"]) == (42.0, -93.6)
    assert found.outlines == {}


def test_a_bad_shape_carries_its_problem_and_stops_no_other():
    line = {"type": "LineString", "coordinates": SQUARE[:2]}
    bad, good = shape_rows(text(feature(line, name="Ditch"), feature(square(), name="Oak"))).rows

    assert bad.problems[0].where == "field 1"
    assert good.problems == ()


@pytest.mark.parametrize("data", [b"{}", b"<a/>", b"PK\x03\x04", text()])
def test_what_is_no_file_of_outlines_is_refused(data):
    with pytest.raises(RefusedInput) as caught:
        shape_rows(data)

    assert caught.value.problems[0].where == "File"
