"""Places go to cells of a grid: edges, the poles, the date line, and keys that lead back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.errors import RefusedInput
from rootbound_service.weather.cells import Cell, Grid
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.weather.sources.power_region import asked_at

POWER, FINE = NasaPower.grid, GridMet.grid
PACIFIC = Grid("pacific", -60.0, 170.0, 1.0, 1.0, 121, 21)
"""From 170 east across the date line to 170 west."""
EAST_FIRST = Grid("wide", 60.0, 0.25, -0.5, 0.5, 241, 720, wraps=True)
"""Longitudes from 0 to 360, the northernmost row first."""
LATS = st.floats(-90, 90)
LONS = st.floats(-180, 180)


@pytest.mark.parametrize(
    ("lat", "lon", "centre"),
    [
        # Centres seen in the service's own regional answers.
        (34.1, -116.9, (34.0, -116.875)),
        (31.9, -116.2, (32.0, -116.25)),
        (42.03, -93.62, (42.0, -93.75)),
        (-33.87, 151.2, (-34.0, 151.25)),
        (-0.2, -0.2, (0.0, 0.0)),
        # Exactly between two cells, and between four: north and east.
        (42.25, -93.75, (42.5, -93.75)),
        (42.0, -93.4375, (42.0, -93.125)),
        (42.25, -93.4375, (42.5, -93.125)),
        (-33.75, 151.5625, (-33.5, 151.875)),
        # The poles, and half a cell from the date line.
        (90.0, 0.0, (90.0, 0.0)),
        (-90.0, 0.0, (-90.0, 0.0)),
        (0.0, 179.6875, (0.0, -180.0)),
        (0.0, 179.68, (0.0, 179.375)),
    ],
)
def test_a_place_goes_to_the_cell_whose_centre_is_nearest(lat, lon, centre):
    cell = POWER.snap(lat, lon)

    assert cell is not None
    assert cell.centre == centre


def test_a_grid_that_counts_from_the_north_sends_a_place_between_four_cells_north_east_too():
    south_west, north_east = FINE.cell(180, 750), FINE.cell(179, 751)
    lat = (south_west.lat + north_east.lat) / 2
    lon = (south_west.lon + north_east.lon) / 2

    assert FINE.snap(lat, lon) == north_east
    assert FINE.snap(lat - 1e-6, lon - 1e-6) == south_west


def test_the_key_names_row_and_column_and_the_folder_has_no_colon():
    cell = POWER.snap(42.03, -93.62)

    assert (cell.key, cell.folder) == ("nasa_power:264-138", "264-138")


def test_fields_of_one_cell_share_it():
    assert POWER.snap(42.03, -93.62) == POWER.snap(41.80, -93.99)


def test_the_date_line_is_no_edge_of_a_grid_that_goes_around():
    assert POWER.snap(0.0, 180.0) == POWER.snap(0.0, -180.0) == POWER.snap(0.0, -179.9)
    assert EAST_FIRST.snap(0.0, -0.1) == EAST_FIRST.cell(120, 719)
    assert EAST_FIRST.snap(0.0, 0.0) == EAST_FIRST.cell(120, 0)


@pytest.mark.parametrize(
    ("lon", "column"),
    [(169.6, 0), (170.0, 0), (179.9, 10), (180.0, 10), (-180.0, 10), (-179.4, 11), (-169.6, 20)],
)
def test_a_grid_across_the_date_line_knows_both_sides(lon, column):
    assert PACIFIC.snap(0.0, lon) == PACIFIC.cell(60, column)
    assert abs(PACIFIC.cell(60, column).lon) <= 180


@pytest.mark.parametrize(
    ("grid", "lat", "lon"),
    [
        (PACIFIC, 0.0, 169.4),
        (PACIFIC, 0.0, -169.4),
        (PACIFIC, 60.6, 175.0),
        (PACIFIC, -60.6, 175.0),
        (FINE, 49.43, -100.0),  # Canada
        (FINE, 25.0, -60.0),  # at sea
        (FINE, 42.0, 93.62),  # the sign of the longitude was lost
        (FINE, -42.0, -93.62),
    ],
)
def test_a_place_outside_the_grid_has_no_cell(grid, lat, lon):
    assert grid.snap(lat, lon) is None


@pytest.mark.parametrize("grid", [POWER, FINE, PACIFIC, EAST_FIRST], ids=lambda one: one.source)
@given(LATS, LONS)
def test_a_place_lies_within_half_a_cell_of_its_centre_and_its_key_leads_back(grid, lat, lon):
    cell = grid.snap(lat, lon)

    if cell is None:
        return
    east = (lon - cell.lon + 180) % 360 - 180
    assert abs(lat - cell.lat) <= abs(grid.lat_step) / 2 + 1e-6
    assert abs(east) <= abs(grid.lon_step) / 2 + 1e-6
    assert grid.from_key(cell.key) == cell
    assert grid.snap(*cell.centre) == cell


@given(LATS, LONS)
def test_the_point_asked_for_lies_in_the_cell_and_clear_of_every_solar_edge(lat, lon):
    cell = POWER.snap(lat, lon)
    asked_lat, asked_lon = asked_at(cell)

    assert POWER.snap(asked_lat, asked_lon) == cell
    assert min(asked_lat % 1, 1 - asked_lat % 1) > 0.005
    assert min(asked_lon % 1, 1 - asked_lon % 1) > 0.005


@pytest.mark.parametrize(
    "key",
    [
        "264-138",  # no source
        "gridmet:264-138",  # another's
        "nasa_power:361-138",  # off the globe
        "nasa_power:264-576",
        "nasa_power:-1-138",
        "nasa_power:264-138 ",
        "nasa_power:264-138:s132-86",  # as it was written once
        "",
    ],
)
def test_a_key_of_no_cell_is_refused(key):
    with pytest.raises(RefusedInput, match="names no cell; give one such as nasa_power:180-288"):
        POWER.from_key(key)


def test_a_place_off_the_globe_is_refused_with_every_problem():
    with pytest.raises(RefusedInput) as caught:
        POWER.snap(91.0, math.nan)

    assert str(caught.value).splitlines() == [
        "latitude: 91.0 is not on the globe; give -90 to 90",
        "longitude: nan is not on the globe; give -180 to 180",
    ]


def test_cells_sort_by_source_and_then_from_the_first_row_on():
    south, north = POWER.snap(41, -93), POWER.snap(43, -93)
    own = FINE.snap(41, -93)

    assert sorted([north, south, own]) == [own, south, north]
    assert isinstance(own, Cell)
