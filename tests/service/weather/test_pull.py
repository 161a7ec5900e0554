"""A pull asks each cell once, stores what comes and tells what does not."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loopback.plays import steady_play
from rootbound_service.weather.bring import bring_history, bring_night
from rootbound_service.weather.day import Ask
from rootbound_service.weather.normals_shelf import NormalsShelf
from rootbound_service.weather.places import Place
from rootbound_service.weather.pull import GIVE_UP_AFTER, pull
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.weather.spans import history_missing
from service.weather.feed_rig import COARSE, a_feed, down

AMES, NORTH = NasaPower.grid.snap(42.03, -93.62), NasaPower.grid.snap(42.6, -93.62)
TODAY, NEXT = date(2026, 7, 1), date(2026, 7, 2)
BEGIN = date(2026, 4, 1)


@pytest.fixture
def night(feed, server):
    def run(*cells, today=TODAY, begin=BEGIN, progress=None):
        server.today = today
        places = [Place(cell) for cell in cells]
        feeds = {"nasa_power": feed}
        (found,) = bring_night(feeds, places, today, begin, NormalsShelf(5), progress)
        return found

    return run


@pytest.fixture
def history(feed, server):
    def run(*cells, today=TODAY, years=2, most=None):
        server.today = today
        places = [Place(cell) for cell in cells]
        feeds = {"nasa_power": feed}
        (found,) = bring_history(feeds, places, today, years, NormalsShelf(5), most=most)
        return found

    return run


def spans(server):
    return [(query["start"], query["end"]) for query in server.queries]


def rain(feed, cell, day):
    return feed.store.read([cell], day, day, ["rain_mm"]).usable()[0, 0, 0]


def test_a_new_cell_gets_the_days_of_its_season_in_one_call(night, server, feed):
    found = night(AMES)

    assert (found.requests, found.cells, found.failed) == (1, 1, {})
    assert spans(server) == [("20260401", "20260630")]
    (span,) = feed.store.spans([AMES])
    # The service is three days behind with temperature and rain, six with radiation.
    assert (span.asked_from, span.last_day) == (BEGIN, date(2026, 6, 28))
    assert list(feed.store.elevations([AMES])) == [300.0]
    solar = feed.store.read([AMES], date(2026, 6, 24), date(2026, 6, 27), ["solar_mj"]).usable()
    assert list(np.isnan(solar[0, 0])) == [False, False, True, True]


def test_the_next_night_asks_for_the_last_45_days_and_fills_what_was_missing(night, server, feed):
    night(AMES)
    found = night(AMES, today=NEXT)

    assert spans(server)[-1] == ("20260518", "20260701")
    assert feed.store.spans([AMES])[0].last_day == date(2026, 6, 29)
    assert (found.new, found.revised) == (6, 0)


def test_a_value_that_the_service_revised_is_replaced_and_told(night, server, feed):
    night(AMES)
    server.play = steady_play(date(2020, 1, 1), date(2026, 12, 31), rain_mm=4.0)
    found = night(AMES, today=NEXT)

    assert found.revised == 42  # 45 days less the three that are not known yet, one of them new
    assert found.revisions[0].largest("rain_mm") == 1.0
    assert rain(feed, AMES, date(2026, 6, 20)) == 4.0
    assert rain(feed, AMES, date(2026, 5, 17)) == 3.0


def test_cells_named_twice_are_asked_once_and_progress_is_told(night, server):
    told = []
    found = night(AMES, NORTH, AMES, progress=lambda done, of: told.append((done, of)))

    assert (found.cells, found.requests, len(server.queries)) == (2, 2, 2)
    assert told == [(1, 2), (2, 2)]


def test_neither_season_nor_history_is_asked_for_before_the_service_begins(night, history, server):
    night(AMES, begin=date(1979, 5, 1), today=date(1981, 7, 2))
    history(AMES, years=99, today=date(1981, 7, 2))

    assert [start for start, _ in spans(server)] == ["19810101", "19810202"]


def test_a_value_that_cannot_be_right_is_stored_marked_and_not_used(night, server, feed):
    server.play = steady_play(date(2020, 1, 1), date(2026, 12, 31), wind_m_s=40.0)
    found = night(AMES)

    assert found.flags["limit"] == (date(2026, 6, 28) - BEGIN).days + 1
    days = feed.store.read([AMES], date(2026, 6, 1), date(2026, 6, 9), ["wind_m_s"])
    assert np.isnan(days.usable()).all()
    assert (days.values == 40.0).all()


def test_the_same_answer_twice_in_a_night_is_kept_once(night, shelf):
    night(AMES)
    night(AMES, today=NEXT)
    night(AMES, today=NEXT)

    assert len(shelf.of_cell(AMES)) == 2


def test_the_past_comes_newest_first_and_no_more_than_is_wanted_at_once(night, history, server):
    night(AMES)
    history(AMES, years=12, most=1)
    assert spans(server)[1:] == [("20260201", "20260331")]  # not settled yet, so by itself

    found = history(AMES, years=12)
    pieces = [("20220101", "20260131"), ("20170101", "20211231"), ("20140101", "20161231")]
    assert spans(server)[2:] == pieces
    assert (found.requests, found.failed) == (3, {})


def test_after_a_failure_no_older_year_of_that_cell_is_asked_so_that_no_hole_is_hidden(
    night, history, server, feed
):
    night(AMES, NORTH)
    server.faults.append("html")
    found = history(AMES, NORTH, years=12)

    assert set(found.failed) == {AMES.key}
    assert found.requests == 5  # one of Ames, and all four of the other
    assert history_missing(feed, [AMES, NORTH], TODAY, 12) == 1

    again = history(AMES, NORTH, years=12)
    assert (again.requests, again.failed) == (4, {})
    assert rain(feed, AMES, date(2023, 7, 1)) == 3.0


def test_the_past_asked_for_in_winter_is_still_stored_from_the_newest_day_back(
    night, history, server, feed
):
    """In winter the service's own cut falls into the newest piece."""
    today = date(2026, 2, 10)
    night(AMES, today=today, begin=date(2026, 1, 20))
    server.faults.append("html")
    history(AMES, today=today, years=4)

    assert feed.store.spans([AMES])[0].asked_from == date(2026, 1, 20)
    assert history(AMES, today=today, years=4).failed == {}
    assert rain(feed, AMES, date(2025, 12, 31)) == 3.0
    assert rain(feed, AMES, date(2022, 1, 1)) == 3.0


def test_after_five_silent_requests_in_a_row_the_source_is_left_alone(tmp_path):
    feed = a_feed(tmp_path, COARSE)
    cells = [COARSE.cell(200, column) for column in range(8)]
    feed.source.breaks.extend([down()] * 8)
    (found,) = bring_night(
        {"coarse": feed}, [Place(one) for one in cells], TODAY, BEGIN, NormalsShelf(5)
    )

    assert (found.requests, len(feed.source.asked)) == (GIVE_UP_AFTER, GIVE_UP_AFTER)
    assert set(found.failed) == {cell.key for cell in cells}
    left = "Played: not asked, 5 requests in a row had no answer"
    assert [found.failed[cell.key] for cell in cells[5:]] == [left] * 3
    assert "503" in found.failed[cells[0].key]


def test_an_answer_between_failures_starts_the_count_again(tmp_path):
    feed = a_feed(tmp_path, COARSE)
    cells = [COARSE.cell(200, column) for column in range(9)]
    feed.source.breaks.extend([*[down()] * 4, None, *[down()] * 4])
    asks = list(feed.source.split(_ask(cells)))
    found = pull(feed, asks, lambda block: check_block(block, Context()))

    assert (found.requests, len(found.failed)) == (9, 8)
    assert feed.store.cells() == (cells[4].key,)


def test_a_refusal_that_does_not_pass_is_no_silence(tmp_path):
    feed = a_feed(tmp_path, COARSE)
    cells = [COARSE.cell(200, column) for column in range(7)]
    feed.source.breaks.extend([ValueError("odd")] * 6)
    asks = list(feed.source.split(_ask(cells)))
    found = pull(feed, asks, lambda block: check_block(block, Context()))

    assert (found.requests, len(found.failed)) == (7, 6)
    told = f"Played, {cells[0].key}: the weather could not be stored (ValueError: odd)"
    assert found.failed[cells[0].key] == told


def _ask(cells):
    return Ask(tuple(cells), date(2026, 6, 1), date(2026, 6, 10), TODAY)
