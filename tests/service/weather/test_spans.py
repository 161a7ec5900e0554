"""Which days are asked for: the season at first, then the youngest, then the past by pieces."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.weather.day import Habits
from rootbound_service.weather.feed import STORED_FROM, first_day, history_start
from rootbound_service.weather.grid_store import Span
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.spans import (
    asks_of_history,
    asks_of_night,
    history_missing,
    span_of_night,
)
from service.weather.feed_rig import COARSE, a_feed

HABITS = Habits(lag=3, recent=45, settled=150)
BEGIN = date(2025, 10, 30)
HERE, THERE = COARSE.cell(264, 138), COARSE.cell(265, 138)
TODAY = date(2026, 7, 2)


def spans_of(asks):
    return [(ask.start, ask.end) for ask in asks]


@pytest.fixture
def feed(tmp_path):
    return a_feed(tmp_path, COARSE, habits=HABITS)


def bring(feed, *cells, start, end, today=TODAY):
    """Store the usual days of some cells."""
    from rootbound_service.weather.day import Ask

    block = feed.source.fetch(Ask(tuple(cells), start, end, today))
    feed.store.write(block, np.zeros(block.values.shape, np.uint16), today)


@pytest.mark.parametrize(
    ("today", "asked_from", "last_day", "start"),
    [
        # A new cell, or one of which nothing ever came: the season so far.
        (date(2026, 7, 2), None, None, BEGIN),
        # A field with an earlier season came into the cell.
        (date(2026, 7, 2), date(2026, 1, 1), date(2026, 6, 29), BEGIN),
        # Every night: the last 45 days.
        (date(2026, 7, 2), date(1996, 1, 1), date(2026, 6, 29), date(2026, 5, 18)),
        # Once a month: every day once more after it has settled.
        (date(2026, 7, 1), date(1996, 1, 1), date(2026, 6, 28), date(2025, 12, 28)),
        # After a long silence: all since the last day.
        (date(2026, 7, 2), date(1996, 1, 1), date(2026, 3, 9), date(2026, 3, 10)),
        # After one longer than the season: no further back than the season needs.
        (date(2026, 7, 2), date(1996, 1, 1), date(2025, 3, 9), BEGIN),
        # A cell asked for, of which nothing came: a sea, or a service that is far behind.
        (date(2026, 7, 2), BEGIN, None, date(2026, 5, 18)),
        # In the first days of a season no further back than it needs.
        (date(2025, 11, 5), date(1996, 1, 1), date(2025, 11, 2), BEGIN),
        # The leap day counts among the 45.
        (date(2024, 3, 10), date(1996, 1, 1), date(2024, 3, 7), date(2024, 1, 25)),
        (date(2023, 3, 10), date(1996, 1, 1), date(2023, 3, 7), date(2023, 1, 24)),
    ],
)
def test_the_days_to_ask_for(today, asked_from, last_day, start):
    begin = min(BEGIN, today - timedelta(days=240)) if today < BEGIN else BEGIN
    wanted = (start, today - timedelta(days=1))

    assert span_of_night(today, begin, HABITS, Span(asked_from, last_day)) == wanted


@given(st.dates(date(2000, 1, 2), date(2040, 12, 31)), st.integers(0, 400), st.integers(0, 400))
def test_what_is_asked_is_never_before_the_season_and_leaves_no_day_out(today, season, known):
    begin, last = today - timedelta(days=season), today - timedelta(days=1 + known)
    start, end = span_of_night(today, begin, HABITS, Span(begin, last))

    assert end == today - timedelta(days=1)
    assert start == begin or start > begin
    assert start <= max(last + timedelta(days=1), begin)


@given(st.dates(date(2001, 1, 1), date(2039, 12, 1)))
def test_every_day_is_asked_for_again_after_it_has_settled(day):
    """Someone asks every night; the values of one day are looked at as final ones."""
    asked_old = 0
    for age in range(1, HABITS.settled + 70):
        today = day + timedelta(days=age)
        known = Span(day - timedelta(days=200), today - timedelta(days=HABITS.lag + 1))
        start, end = span_of_night(today, day - timedelta(days=200), HABITS, known)
        asked_old += start <= day <= end and age > HABITS.settled
    assert 1 <= asked_old <= 2


def test_before_anything_of_a_season_lies_in_the_past_nothing_is_asked(feed):
    assert list(asks_of_night(feed, [HERE], TODAY, TODAY)) == []


def test_cells_with_the_same_days_go_together_and_each_is_asked_once(feed):
    bring(feed, HERE, start=BEGIN, end=date(2026, 7, 1))
    new = COARSE.cell(266, 138)
    asks = list(asks_of_night(feed, [HERE, THERE, new], TODAY, BEGIN))

    assert [(ask.cells, ask.start) for ask in asks] == [
        ((HERE,), date(2026, 5, 18)),
        ((THERE,), BEGIN),
        ((new,), BEGIN),
    ]


def test_the_past_is_cut_into_pieces_of_years_the_newest_first_without_hole_or_overlap(feed):
    bring(feed, HERE, start=date(2026, 4, 1), end=date(2026, 7, 1))
    asks = list(asks_of_history(feed, [HERE], TODAY, 12))

    assert spans_of(asks) == [
        (date(2022, 1, 1), date(2026, 3, 31)),
        (date(2017, 1, 1), date(2021, 12, 31)),
        (date(2014, 1, 1), date(2016, 12, 31)),
    ]


def test_the_past_goes_on_where_it_broke_off(feed):
    bring(feed, HERE, start=date(2022, 1, 1), end=date(2026, 7, 1))
    asks = list(asks_of_history(feed, [HERE], TODAY, 12))

    assert [ask.end for ask in asks] == [date(2021, 12, 31), date(2016, 12, 31)]


def test_a_cell_that_was_never_asked_for_tonights_days_has_no_past_yet_but_lacks_it(feed):
    assert list(asks_of_history(feed, [HERE], TODAY, 12)) == []
    assert history_missing(feed, [HERE], TODAY, 12) == 1


def test_a_past_that_is_whole_is_not_asked_for_again(feed):
    bring(feed, HERE, start=date(2014, 1, 1), end=date(2026, 7, 1))

    assert list(asks_of_history(feed, [HERE], TODAY, 12)) == []
    assert history_missing(feed, [HERE, THERE], TODAY, 12) == 1
    # The turn of the year asks for nothing: the years wanted begin a year later.
    assert history_missing(feed, [HERE], date(2027, 1, 1), 12) == 0
    # More years are wanted than were asked for.
    assert spans_of(asks_of_history(feed, [HERE], TODAY, 14)) == [
        (date(2012, 1, 1), date(2013, 12, 31))
    ]


def test_no_year_is_wanted_before_the_source_or_the_store_begins(tmp_path):
    young = a_feed(tmp_path / "a", COARSE, earliest=date(2019, 3, 5))
    old = a_feed(tmp_path / "b", COARSE, earliest=date(1951, 1, 1))

    assert history_start(young, TODAY, 30) == date(2019, 3, 5)
    assert history_start(old, TODAY, 99) == first_day(old) == STORED_FROM
    bring(young, HERE, start=date(2026, 1, 1), end=date(2026, 7, 1))
    assert list(asks_of_history(young, [HERE], TODAY, 30))[-1].start == date(2019, 3, 5)


def test_a_value_that_must_not_be_used_is_asked_for_again(feed):
    bring(feed, HERE, start=date(2026, 1, 1), end=date(2026, 6, 29))
    from rootbound_service.weather.day import Ask

    block = feed.source.fetch(Ask((HERE,), date(2026, 3, 10), date(2026, 6, 29), TODAY))
    marks = np.full(block.values.shape, Flag.LIMIT, np.uint16)
    feed.store.write(block, marks, TODAY)

    (ask,) = asks_of_night(feed, [HERE], TODAY, date(2026, 1, 1))
    assert ask.start == date(2026, 3, 10)
