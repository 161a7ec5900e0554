"""Which cells serve a field: its own of the preferred source, and those that stand in for it."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.public.order import Order, Region, Rule
from rootbound_service.weather.cells import Grid
from rootbound_service.weather.places import Place, cells_by_source, place_of
from service.weather.feed_rig import COARSE, FINE, a_feed

PACIFIC = Grid("pacific", -60.0, 170.0, 1.0, 1.0, 121, 21)
STATES = Region(24.5, 49.5, -125.0, -66.9)
ORDER = Order(
    {"states": STATES, "ocean": Region(-60, 60, 170, -170)},
    (
        Rule("days", "states", ("fine", "coarse")),
        Rule("days", "ocean", ("pacific", "coarse")),
        Rule("days", "world", ("coarse",)),
    ),
)
TODAY, BEGIN = date(2026, 7, 2), date(2026, 4, 1)
AMES = (42.03, -93.62)


@pytest.fixture
def feeds(tmp_path):
    return {grid.source: a_feed(tmp_path, grid) for grid in (FINE, COARSE, PACIFIC)}


def asked(feed, cell, *, came: bool):
    """Let the store remember that a cell was asked for, with days or without any."""
    if came:
        from rootbound_service.weather.day import Ask

        block = feed.source.fetch(Ask((cell,), BEGIN, date(2026, 7, 1), TODAY))
        feed.store.write(block, None, TODAY)
    feed.store.note_asked([cell], BEGIN)


def test_the_stand_in_answers_for_the_centre_of_the_own_cell_and_not_for_the_field(feeds):
    """All fields of a cell must have the same place, wherever in it they lie."""
    own = FINE.snap(42.2497, -93.62)
    other = COARSE.snap(*own.centre)
    fields = [
        (own.lat + up, own.lon + right) for up in (-0.0208, 0.0208) for right in (-0.02, 0.02)
    ]

    assert {place_of(*field, ORDER, feeds) for field in fields} == {Place(own, (other,))}
    # the field's own neighbourhood would have given two of the coarse cells
    assert len({COARSE.snap(*field) for field in fields}) == 2


def test_a_field_exactly_between_four_cells_has_the_one_in_the_north_east(feeds):
    place = place_of(52.25, 10.3125, ORDER, feeds)

    assert place == Place(COARSE.snap(52.5, 10.625))


@pytest.mark.parametrize(
    ("lat", "lon", "sources"),
    [
        (*AMES, ("fine", "coarse")),
        (-34.6, -58.4, ("coarse",)),  # the pampas
        (-33.87, 151.2, ("coarse",)),
        (42.03, 93.62, ("coarse",)),  # the sign of the longitude was lost
        (-17.8, 178.0, ("pacific", "coarse")),
        (-17.8, -178.5, ("pacific", "coarse")),
        (0.0, 180.0, ("pacific", "coarse")),
        (0.0, -180.0, ("pacific", "coarse")),
        (0.0, 169.9, ("coarse",)),
        (0.0, -169.9, ("coarse",)),
        # In the region of the order, but outside the grid it names first.
        (24.6, -80.0, ("coarse",)),
        (90.0, 0.0, ("coarse",)),
        (-90.0, 0.0, ("coarse",)),
    ],
)
def test_each_place_has_the_sources_that_cover_it_in_order(feeds, lat, lon, sources):
    place = place_of(lat, lon, ORDER, feeds)

    assert place is not None
    assert place.sources == sources
    assert place.key == place.cells[0].key


def test_both_sides_of_the_date_line_are_one_cell(feeds):
    assert place_of(0.0, 180.0, ORDER, feeds) == place_of(0.0, -179.99, ORDER, feeds)
    assert place_of(0.0, 179.99, ORDER, feeds).cell == PACIFIC.cell(60, 10)


def test_where_no_source_covers_a_place_there_is_none(feeds):
    only_fine = Order({}, (Rule("days", "world", ("fine",)),))

    assert place_of(-34.6, -58.4, only_fine, feeds) is None
    assert place_of(*AMES, Order({}, ()), feeds) is None
    assert place_of(*AMES, ORDER, {}) is None


def test_the_stand_in_serves_where_the_own_cell_is_empty_and_the_own_one_is_asked_on(feeds):
    own = FINE.snap(*AMES)
    before = place_of(*AMES, ORDER, feeds)
    asked(feeds["fine"], own, came=False)
    after = place_of(*AMES, ORDER, feeds)

    assert before.cell == own
    assert after.cell == COARSE.snap(*AMES)
    assert after.others == (own,)


def test_where_all_are_empty_the_first_stays(feeds):
    own, other = FINE.snap(*AMES), COARSE.snap(*AMES)
    asked(feeds["fine"], own, came=False)
    asked(feeds["coarse"], other, came=False)

    assert place_of(*AMES, ORDER, feeds).cell == own


def test_a_cell_that_has_days_serves_again(feeds):
    own = FINE.snap(*AMES)
    asked(feeds["fine"], own, came=False)
    asked(feeds["fine"], own, came=True)

    assert place_of(*AMES, ORDER, feeds).cell == own


def test_each_cell_is_wanted_once_however_many_places_lean_on_it(feeds):
    west, east = FINE.cell(177, 747), FINE.cell(177, 748)
    places = [Place(one, (COARSE.snap(*one.centre),)) for one in (west, east)]

    assert places[0].others == places[1].others
    assert cells_by_source(places) == {"fine": [west, east], "coarse": [places[0].others[0]]}
