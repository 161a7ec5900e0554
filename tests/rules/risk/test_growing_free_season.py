"""A made-up season whose second dig finds the roots out of the furrow, and one whose does not."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_rules.risk.growing_free import grown_free, held_again
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.values import Dig
from rules.season import plausible

FIRST_YEAR, YEARS = 2012, 9
AT_V6, AT_V9 = date(2021, 6, 14), date(2021, 6, 28)
FIRST_DIG = Dig(plausible.PLANTED + timedelta(days=20), 2, plants=5, crossing=10, held=40)
NIGHTS = [date(2021, 5, 25) + timedelta(days=step) for step in range(0, 70, 2)]


@pytest.fixture(scope="module")
def sky():
    """A cell's days: the season and the years before it, all moist."""
    start = date(FIRST_YEAR, 1, 1)
    days = (date(2021, 12, 31) - start).days + 1
    made = plausible.weather(np.random.default_rng(4), start, days, wet_share=0.4)
    return plausible.demand(made)


def nights_free(sky, *digs):
    """Nights on which it may be said, and those on which the roots are held."""
    free, held = [], []
    for night in NIGHTS:
        known = tuple(dig for dig in digs if dig.dug_on < night)
        season = plausible.plain_field(digs=known)
        outlook = look_out(season, sky, night - timedelta(days=1), 5)
        if grown_free(outlook, night, 0, 0):
            free.append(night)
        if held_again(outlook, night):
            held.append(night)
    return free, held


def dug_again(day, crossing):
    return Dig(day, 2, plants=10, crossing=crossing, held=100 - crossing)


def test_a_dig_at_v9_that_finds_most_roots_crossing_is_good_news_from_v10_on(sky):
    free, held = nights_free(sky, FIRST_DIG, dug_again(AT_V9, 97))
    assert min(held) < AT_V9 < min(free)
    assert max(held) < min(free)
    assert free[-1] == NIGHTS[-1]


def test_the_same_dig_at_v6_is_not_for_later_roots_meet_the_wall_again(sky):
    free, _ = nights_free(sky, FIRST_DIG, dug_again(AT_V6, 97))
    assert free == []


def test_a_dig_that_finds_half_of_them_held_is_not(sky):
    free, _ = nights_free(sky, FIRST_DIG, dug_again(AT_V9, 50))
    assert free == []


def test_a_third_dig_that_finds_them_held_takes_it_back(sky):
    third = date(2021, 7, 10)
    free, held = nights_free(sky, FIRST_DIG, dug_again(AT_V9, 97), dug_again(third, 10))
    assert free
    assert max(free) <= third < max(held)
