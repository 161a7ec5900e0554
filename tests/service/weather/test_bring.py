"""Every source in its turn: stand-ins first, each cell once, and one that fails stops no other."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from rootbound_service.weather.bring import bring_history, bring_night, stand_ins_first
from rootbound_service.weather.cells import Cell, Grid
from rootbound_service.weather.normals_shelf import NormalsShelf
from rootbound_service.weather.places import Place
from rootbound_service.weather.pull import GIVE_UP_AFTER
from rootbound_service.weather.quality.flags import Flag
from service.weather.feed_rig import COARSE, FINE, a_feed, down

TODAY, BEGIN = date(2026, 7, 2), date(2026, 5, 20)
OWN = [FINE.cell(177, 747), FINE.cell(177, 748), FINE.cell(100, 400)]
PLACES = [Place(cell, (COARSE.snap(*cell.centre),)) for cell in OWN]
ABROAD = Place(COARSE.snap(-34.6, -58.4))


@pytest.fixture
def feeds(tmp_path):
    return {"fine": a_feed(tmp_path, FINE), "coarse": a_feed(tmp_path, COARSE)}


def night(feeds, places, today=TODAY):
    return bring_night(feeds, places, today, BEGIN, NormalsShelf(30))


def cells_asked(feed):
    return [ask.cells[0] for ask in feed.source.asked]


def test_stand_ins_come_first_and_each_cell_is_asked_once(feeds):
    found = night(feeds, [*PLACES, ABROAD])

    assert [one.source for one in found] == ["coarse", "fine"]
    assert PLACES[0].others == PLACES[1].others
    assert cells_asked(feeds["fine"]) == OWN
    assert cells_asked(feeds["coarse"]) == [
        PLACES[0].others[0],
        PLACES[2].others[0],
        ABROAD.cell,
    ]
    assert [one.cells for one in found] == [3, 3]


def test_the_preferred_sources_values_are_held_against_those_of_tonights_stand_in(feeds):
    day = date(2026, 6, 12)
    feeds["fine"].source.says |= {("tmax_c", day): 12.0, ("tmin_c", day): 10.0}
    coarse, fine = night(feeds, PLACES)

    assert fine.flags["cross"] >= 3  # one a cell
    assert "cross" not in coarse.flags
    days = feeds["fine"].store.read([OWN[0]], day, day, ["tmax_c"])
    assert days.flags[0, 0, 0] & Flag.CROSS


@pytest.mark.parametrize(
    ("orders", "turn"),
    [
        ([("a", "b", "c")], ["c", "b", "a"]),
        ([("a", "b"), ("b",)], ["b", "a"]),
        ([("b",), ("a", "b")], ["b", "a"]),
        ([("a", "c"), ("b", "c")], ["c", "a", "b"]),
        ([("a",)], ["a"]),
        ([], []),
    ],
)
def test_each_source_comes_after_those_that_stand_in_for_it(orders, turn):
    places = []
    for names in orders:
        cells = [Cell(name, 1, 1, 0.0, 0.0) for name in names]
        places.append(Place(cells[0], tuple(cells[1:])))

    assert stand_ins_first(places) == turn


def test_a_torn_store_is_told_for_all_its_cells_and_stops_no_other_source(feeds, tmp_path):
    night(feeds, PLACES)
    folder = tmp_path / "weather" / f"{FINE.source}.zarr"
    for file in folder.rglob("*"):
        if file.is_file():
            file.write_bytes(b"torn")
    from service.weather.feed_rig import a_feed

    torn = a_feed(folder.parents[1], FINE)  # as the next start of the program finds it
    coarse, fine = night(feeds | {"fine": torn}, PLACES, date(2026, 7, 3))

    assert (coarse.source, coarse.failed) == ("coarse", {})
    assert set(fine.failed) == {cell.key for cell in OWN}
    assert (fine.requests, torn.source.asked) == (0, [])
    assert "the stored weather cannot be used" in fine.failed[OWN[0].key]
    history = bring_history(feeds | {"fine": torn}, PLACES, TODAY, 3, NormalsShelf(30))
    assert set(history[0].failed) == {cell.key for cell in OWN}


def test_a_source_that_is_down_is_given_up_after_five_and_the_other_goes_on(feeds):
    many = [FINE.cell(177, 740 + step) for step in range(9)]
    places = [Place(cell, (COARSE.snap(*cell.centre),)) for cell in many]
    feeds["fine"].source.breaks.extend([down("Fine")] * 9)
    coarse, fine = night(feeds, places)

    assert len(feeds["fine"].source.asked) == GIVE_UP_AFTER
    assert len(fine.failed) == 9
    assert (coarse.failed, coarse.requests) == ({}, len({p.others[0] for p in places}))


def test_the_past_is_asked_of_the_own_source_of_each_place_alone(feeds):
    night(feeds, [*PLACES, ABROAD])
    for feed in feeds.values():
        feed.source.asked.clear()
    found = bring_history(feeds, [*PLACES, ABROAD], TODAY, 3, NormalsShelf(30))

    assert {one.source: one.cells for one in found} == {"fine": 3, "coarse": 1}
    assert cells_asked(feeds["coarse"]) == [ABROAD.cell]
    assert {ask.start for ask in feeds["fine"].source.asked} == {date(2023, 1, 1)}


def test_the_past_comes_as_far_as_the_requests_reach_and_goes_on_next_time(feeds):
    night(feeds, PLACES)
    years, shelf = 11, NormalsShelf(30)

    def piece():
        feeds["fine"].source.asked.clear()
        (one,) = bring_history(feeds, PLACES, TODAY, years, shelf, most=4)
        return one.requests, [ask.start.year for ask in feeds["fine"].source.asked]

    assert piece() == (4, [2022, 2022, 2022, 2017])
    assert piece() == (4, [2017, 2017, 2015, 2015])
    assert piece() == (1, [2015])
    assert piece() == (0, [])


def test_a_leap_day_of_the_past_is_stored_like_any_other(feeds):
    night(feeds, PLACES)
    bring_history(feeds, PLACES, TODAY, 3, NormalsShelf(30))
    days = feeds["fine"].store.read(OWN, date(2024, 2, 28), date(2024, 3, 1), ["tmax_c"])

    source = feeds["fine"].source
    assert days.values[0, 0].tolist() == [
        source.value("tmax_c", date(2024, 2, day)) for day in (28, 29)
    ] + [source.value("tmax_c", date(2024, 3, 1))]
    assert not np.isnan(days.values).any()


def test_places_without_any_source_ask_for_nothing(feeds):
    assert night(feeds, []) == []
    assert bring_history(feeds, [], TODAY, 3, NormalsShelf(30)) == []


def test_progress_is_told_of_one_source_after_the_other(feeds):
    told = []
    bring_night(
        feeds, PLACES, TODAY, BEGIN, NormalsShelf(30), lambda done, of: told.append((done, of))
    )

    assert told == [(1, 2), (2, 2), (1, 3), (2, 3), (3, 3)]


def test_a_third_source_may_stand_in_for_the_second(tmp_path, feeds):
    third = Grid("third", -90.0, -180.0, 1.0, 1.0, 181, 360, wraps=True)
    place = Place(OWN[0], (*PLACES[0].others, third.snap(*OWN[0].centre)))
    all_three = feeds | {"third": a_feed(tmp_path, third)}

    assert [one.source for one in night(all_three, [place])] == ["third", "coarse", "fine"]
