"""GeoJSON and CSV, read by parsers that are not ours."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import timedelta

import geojson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.feeds.geojson import geojson_of
from rootbound_service.feeds.stand import Night, Stand
from rootbound_service.feeds.table import COLUMNS, FORMULA, table_of
from service.feeds.scene import FIRST, a_field, a_row, a_stand, night_at


def rows(*stands):
    return list(csv.DictReader(io.StringIO(table_of(stands))))


def with_row(**changes):
    night, at = night_at(0)
    return Stand(a_field(), (Night(night, at, replace(a_row(night, 2), **changes)),))


def test_geojson_is_valid_and_longitude_comes_first():
    """RFC 7946 3.1.1 and 4, by the package geojson."""
    read = geojson.loads(geojson_of([a_stand(3), a_stand(name="West Ridge", number=8)]))

    assert read.is_valid
    first, second = read["features"]
    assert first["geometry"]["coordinates"] == [-94.92, 41.62]
    assert (first["properties"]["rung"], first["properties"]["rung_name"]) == (3, "short")
    assert second["properties"]["rung"] is None
    assert "crs" not in read


def test_what_is_no_number_is_not_known_rather_than_no_json():
    """RFC 8259 6: numbers that are not finite are not permitted."""
    stand = with_row(reach=float("nan"), days_ahead_high=float("inf"))
    properties = json.loads(geojson_of([stand]), parse_constant=pytest.fail)["features"][0][
        "properties"
    ]

    assert properties["reach"] is None
    assert properties["days_ahead_high"] is None
    assert properties["days_ahead_low"] == 4.0


@given(st.text())
def test_any_name_comes_back_as_it_was_in_geojson(name):
    (feature,) = geojson.loads(geojson_of([a_stand(2, name=name)]))["features"]

    assert feature["properties"]["field"] == name


@pytest.mark.parametrize("begin", [*FORMULA, " ="])
def test_no_cell_of_the_table_is_a_formula(begin):
    """OWASP, CSV injection: cells that begin so are computed."""
    name = f"{begin}HYPERLINK(1)"
    (row,) = rows(a_stand(2, name=name))

    assert row["field"] == f"'{name}"


@given(st.text(alphabet=st.characters(exclude_characters="\r\n\x00")))
def test_commas_quotes_and_all_else_in_a_name_leave_a_row_whole(name):
    """RFC 4180 2."""
    (row,) = rows(a_stand(2, name=name))

    assert row["field"].removeprefix("'") == name.removeprefix("'")
    assert row["number"] == "7"


def test_the_table_has_every_figure_and_numbers_stay_numbers():
    (row,) = rows(a_stand(2))

    assert tuple(row) == COLUMNS
    assert float(row["lon"]) == -94.92
    assert float(row["water_in_reach_mm"]) == 9.7
    assert (row["rung"], row["rung_name"], row["days_ahead_median"]) == ("2", "tight", "6.0")


def test_the_night_is_the_last_that_was_run_however_old_its_figures():
    """A row is stored only when something changed; readers must see that the service runs."""
    night, at = night_at(6)
    (row,) = rows(Stand(a_field(), (Night(night, at, a_row(FIRST, 2)),)))

    assert row["night"] == (FIRST + timedelta(days=6)).isoformat()


def test_figures_are_rounded_and_never_below_nothing():
    (row,) = rows(with_row(water_in_reach_mm=-0.0004, chance_7=0.61849, reach=0.5833333))

    assert (row["water_in_reach_mm"], row["chance_7_days"], row["reach"]) == ("0.0", "0.62", "0.58")


def test_a_field_without_a_night_is_there_with_its_place_alone():
    (row,) = rows(Stand(a_field(), ()))

    assert (row["field"], row["lat"], row["status"], row["rung"]) == ("Long Acre", "41.62", "", "")
