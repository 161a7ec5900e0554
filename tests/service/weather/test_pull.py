"""A pull asks each cell once, the history first and then the last weeks."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from loopback.plays import steady_play
from rootbound_service.weather.cells import snap
from rootbound_service.weather.pull import pull_cells, span_to_ask

AMES, NORTH = snap(42.03, -93.62), snap(42.6, -93.62)
TODAY = date(2026, 7, 1)
HISTORY = date(1996, 1, 1)


@pytest.fixture
def pull(store, source, shelf, server):
    def run(*cells, today=TODAY, years=2, **kwargs):
        server.today = today
        return pull_cells(cells, today, store, source, shelf, years, **kwargs)

    return run


@pytest.mark.parametrize(
    ("today", "asked_from", "last_day", "start"),
    [
        # A new cell, or one whose history never came: everything.
        (date(2026, 7, 2), None, None, HISTORY),
        (date(2026, 7, 2), HISTORY, None, HISTORY),
        # More years are wanted than were asked for.
        (date(2026, 7, 2), date(2001, 1, 1), date(2026, 6, 29), HISTORY),
        # Every night: the last 45 days.
        (date(2026, 7, 2), HISTORY, date(2026, 6, 29), date(2026, 5, 18)),
        # Once a month: 150.
        (date(2026, 7, 1), HISTORY, date(2026, 6, 28), date(2026, 2, 1)),
        # After a long silence: all since the last day.
        (date(2026, 7, 2), HISTORY, date(2026, 3, 9), date(2026, 3, 10)),
    ],
)
def test_the_days_to_ask_for(today, asked_from, last_day, start):
    wanted = (start, today - timedelta(days=1))

    assert span_to_ask(today, HISTORY, asked_from, last_day) == wanted


def test_a_new_cell_gets_its_whole_history_in_one_call(pull, server, store):
    (result,) = pull(AMES)

    assert result.error is None
    assert [(q["start"], q["end"]) for q in server.queries] == [("20240101", "20260630")]
    assert store.asked_from(AMES) == date(2024, 1, 1)
    assert store.elevation_m(AMES) == 300.0
    # The service is three days behind with temperature and rain, six with radiation.
    assert result.known_through == date(2026, 6, 28)
    solar = store.read(AMES, date(2026, 6, 24), date(2026, 6, 27)).solar_mj
    assert list(np.isnan(solar)) == [False, False, True, True]


def test_the_next_night_asks_for_the_last_45_days_and_fills_what_was_missing(pull, server):
    pull(AMES)
    (result,) = pull(AMES, today=date(2026, 7, 2))

    assert (server.queries[-1]["start"], server.queries[-1]["end"]) == ("20260518", "20260701")
    assert result.known_through == date(2026, 6, 29)
    assert result.revised == 0


def test_a_value_that_the_service_revised_is_replaced_and_counted(pull, server, store):
    pull(AMES)
    server.play = steady_play(date(2020, 1, 1), date(2026, 12, 31), rain_mm=4.0)
    (result,) = pull(AMES, today=date(2026, 7, 2))

    assert result.revised == 42  # 45 days less the three that are not known yet, one of them new
    assert store.read(AMES, date(2026, 6, 20), date(2026, 6, 20)).rain_mm[0] == 4.0
    assert store.read(AMES, date(2026, 5, 17), date(2026, 5, 17)).rain_mm[0] == 3.0


def test_cells_named_twice_are_asked_once_and_progress_is_told(pull, server):
    told = []
    results = pull(AMES, NORTH, AMES, progress=lambda r, done, of: told.append((r.cell, done, of)))

    assert [r.cell for r in results] == [AMES, NORTH]
    assert told == [(AMES, 1, 2), (NORTH, 2, 2)]
    assert len(server.queries) == 2


def test_history_stops_where_the_service_begins(pull, server):
    pull(AMES, years=99)

    assert server.queries[0]["start"] == "19810101"


def test_a_value_that_cannot_be_right_is_stored_flagged_and_not_used(pull, server, store):
    server.play = steady_play(date(2020, 1, 1), date(2026, 12, 31), wind_m_s=40.0)
    (result,) = pull(AMES, years=0)

    assert result.flagged == (date(2026, 6, 28) - date(2026, 1, 1)).days + 1
    assert store.read(AMES, date(2026, 6, 1), date(2026, 6, 9)).wind_m_s is None
    assert store.stored(AMES, "wind_m_s", date(2026, 6, 1), date(2026, 6, 1)).values[0] == 40.0


def test_radiation_is_held_to_the_clear_sky_where_that_is_given(pull, store):
    asked = []

    def clear_sky(lat, elevation_m, start, days):
        asked.append((lat, elevation_m, start, days))
        return np.full(days, 15.0)  # the steady day has 20

    (result,) = pull(AMES, years=0, clear_sky=clear_sky)

    assert asked == [(42.0, 300.0, date(2026, 1, 1), 181)]
    assert result.flagged > 0
    assert store.read(AMES, date(2026, 6, 1), date(2026, 6, 9)).solar_mj is None


def test_the_same_answer_twice_in_a_night_is_kept_once(pull, shelf):
    pull(AMES)
    again = pull(AMES, today=date(2026, 7, 2)) + pull(AMES, today=date(2026, 7, 2))

    assert [r.copy_kept for r in again] == [True, False]
    assert len(shelf.of_cell(AMES)) == 2
