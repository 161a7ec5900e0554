"""Places go to cells of the weather grid, and cells to one point to ask for."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.errors import RefusedInput
from rootbound_service.weather.cells import Cell, cell_from_key, snap

LATS = st.floats(-90, 90)
LONS = st.floats(-180, 180)


@pytest.mark.parametrize(
    ("lat", "lon", "centre"),
    [
        # Centres seen in the service's own regional answers.
        (34.1, -116.9, (34.0, -116.875)),
        (31.9, -116.2, (32.0, -116.25)),
        (42.03, -93.62, (42.0, -93.75)),
        # An edge goes north and east.
        (42.25, -93.4375, (42.5, -93.125)),
    ],
)
def test_a_place_goes_to_the_cell_whose_centre_is_nearest(lat, lon, centre):
    assert snap(lat, lon).centre == centre


def test_the_key_names_the_met_cell_and_the_solar_cell():
    assert snap(42.03, -93.62).key == "nasa_power:m264-138:s132-86"


def test_fields_of_one_cell_share_it():
    assert snap(42.03, -93.62) == snap(41.80, -93.99)


def test_the_date_line_is_no_edge():
    assert snap(0.0, 180.0) == snap(0.0, -180.0) == snap(0.0, -179.9)


@given(LATS, LONS)
def test_the_asked_point_lies_in_the_met_cell_and_clear_of_every_solar_edge(lat, lon):
    cell = snap(lat, lon)
    asked_lat, asked_lon = cell.asked

    assert snap(asked_lat, asked_lon) == cell
    assert min(asked_lat % 1, 1 - asked_lat % 1) > 0.005
    assert min(asked_lon % 1, 1 - asked_lon % 1) > 0.005


@given(LATS, LONS)
def test_a_key_leads_back_to_its_cell(lat, lon):
    cell = snap(lat, lon)

    assert cell_from_key(cell.key) == cell


@pytest.mark.parametrize(
    "key",
    [
        "m264-138",  # no service
        "nasa_power:m264-138:s132-87",  # the solar cell of another
        "nasa_power:m999-138:s132-86",  # off the globe
    ],
)
def test_a_key_of_no_cell_is_refused(key):
    with pytest.raises(RefusedInput, match="names no cell; give one such as"):
        cell_from_key(key)


def test_a_place_off_the_globe_is_refused_with_every_problem():
    with pytest.raises(RefusedInput) as caught:
        snap(91.0, math.nan)

    assert str(caught.value).splitlines() == [
        "latitude: 91.0 is not on the globe; give -90 to 90",
        "longitude: nan is not on the globe; give -180 to 180",
    ]


def test_cells_sort_from_south_to_north():
    assert sorted([snap(43, -93), snap(41, -93)]) == [snap(41, -93), snap(43, -93)]


def test_the_folder_of_a_cell_has_no_colon():
    assert Cell(264, 138).folder == "m264-138_s132-86"
