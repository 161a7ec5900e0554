"""Which rated fields to dig once more: V6 to V8, after a soaking rain, where it matters."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_rules.risk.dig_again import (
    AgainReason,
    DigAgain,
    last_soaking,
    order_again,
    worth_again,
)
from rootbound_rules.risk.more_plants import MorePlants
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.values import Dig
from rootbound_rules.tables import load_table
from rules.season import plausible

PLANTED, DUG = date(2020, 5, 1), date(2020, 6, 9)
BEGIN, END = date(2009, 1, 1), date(2020, 7, 31)
V7 = date(2020, 6, 22)
"""Six to nine collars show by the heat of this cell."""
SOAKING = load_table("dig_list").number("rain.soaking_mm")


@pytest.fixture(scope="module")
def dry_years():
    """Past Junes and Julys without rain: a held root is short soon."""
    days = (END - BEGIN).days + 1
    made = plausible.demand(plausible.weather(np.random.default_rng(1), BEGIN, days, 0.3))
    rain = made.rain_mm.copy()
    for year in range(2009, 2021):
        first = made.index(date(year, 6, 10))
        rain[first : first + 45] = 0.0
    return replace(made, rain_mm=rain)


def rained(cell, day, mm=20.0):
    """The same cell with rain on one day."""
    rain = cell.rain_mm.copy()
    rain[cell.index(day)] = mm
    return replace(cell, rain_mm=rain)


def again(cell, today=V7, wall=3, **dig):
    card = Dig(
        **({"dug_on": DUG, "wall_class": wall, "plants": 5, "crossing": 4, "held": 16} | dig)
    )
    field = replace(plausible.plain_field(digs=(card,)), planted=PLANTED)
    return worth_again(7, look_out(field, cell, today - timedelta(days=1), 7), field, today)


def test_after_a_soaking_rain_held_roots_that_would_be_worse_are_dug_again(dry_years):
    told = again(rained(dry_years, date(2020, 6, 18)))

    assert told is not None
    assert (told.field_id, told.since_soaking, told.rain_mm) == (7, 4, 20.0)
    assert AgainReason.LATE_CROSSING in told.reasons
    assert told.held_rung > told.free_rung
    assert 6.0 <= told.collars < 9.0


def test_without_a_soaking_rain_since_the_dig_a_second_one_would_find_the_same(dry_years):
    assert again(dry_years) is None
    assert again(rained(dry_years, date(2020, 6, 18), SOAKING - 0.1)) is None
    # rain of the day of the dig itself was seen by the spade
    assert again(rained(dry_years, DUG, 30.0)) is None


@pytest.mark.parametrize("today", [date(2020, 6, 12), date(2020, 7, 12)])
def test_outside_v6_to_v8_it_is_not_asked_for(dry_years, today):
    assert again(rained(dry_years, date(2020, 6, 11)), today) is None


def test_a_dig_from_v6_on_has_seen_what_crossed(dry_years):
    cell = rained(dry_years, date(2020, 6, 21))

    assert again(cell, dug_on=date(2020, 6, 20)) is None
    assert again(cell) is not None


def test_roots_that_nothing_holds_are_left_alone(dry_years):
    cell = rained(dry_years, date(2020, 6, 18))

    assert again(cell, wall=0, crossing=None, held=None) is None


def test_a_dig_without_counts_is_asked_to_count_where_it_matters(dry_years):
    told = again(rained(dry_years, date(2020, 6, 18)), crossing=None, held=None)

    assert told is not None
    assert AgainReason.COUNTS_WANTED in told.reasons
    assert told.more.kind == "counts_wanted"


def test_watering_softens_a_wall_as_rain_does(dry_years):
    given = dry_years.irrigation_mm.copy()
    given[dry_years.index(date(2020, 6, 18))] = 25.0
    field = replace(plausible.plain_field(), planted=PLANTED)
    outlook = look_out(field, replace(dry_years, irrigation_mm=given), V7 - timedelta(days=1), 7)

    assert last_soaking(outlook, DUG, V7) == (4, 25.0)


def test_rain_that_is_not_known_yet_is_not_counted(dry_years):
    """Days after the last real weather are past years' here."""
    cell = rained(dry_years, date(2020, 6, 20))
    field = replace(plausible.plain_field(), planted=PLANTED)

    assert last_soaking(look_out(field, cell, date(2020, 6, 19), 7), DUG, V7) is None
    assert last_soaking(look_out(field, cell, date(2020, 6, 20), 7), DUG, V7) == (2, 20.0)


def test_the_highest_expected_rung_comes_first_then_what_the_roots_add():
    def one(field_id, held, free, collars=7.0):
        return DigAgain(field_id, (), DUG, 3, 20.0, collars, held, free, MorePlants("enough", 0))

    listed = [one(1, 2, 1), one(2, 3, 2), one(3, 2, 0), one(4, 2, 0, 8.0)]

    assert [found.field_id for found in order_again(listed)] == [2, 4, 3, 1]
