"""The outlook: known days, then past years; the same on every run, and never the future."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.season.demand import GAP
from rootbound_rules.season.outlook import MOST_MISSING_DAYS, look_out, past_years
from rootbound_rules.season.pack import same_day
from rules.season import plausible

BEGIN, END = date(2010, 1, 1), date(2020, 7, 31)
KNOWN = date(2020, 6, 30)
FLOOD = 777.0
"""Rain that no day has but those put there. [mm]"""
CUBES = ("free_stress", "held_stress", "free_water", "held_water", "reach", "gdd_f", "rain_mm")


@pytest.fixture(scope="module")
def cell():
    """Eleven years of one cell, the last one a month beyond what is known."""
    days = (END - BEGIN).days + 1
    return plausible.demand(plausible.weather(np.random.default_rng(51), BEGIN, days, 0.25))


def field(planted=date(2020, 5, 1), wall=2):
    dug = replace(plausible.rated(wall, crossing=8, held=12), dug_on=planted + timedelta(days=30))
    return replace(plausible.plain_field(digs=(dug,)), planted=planted)


def test_the_same_seed_gives_the_same_outlook_to_the_last_bit(cell):
    one, two = (look_out(field(), cell, KNOWN, 17) for _ in range(2))
    for name in CUBES:
        assert np.array_equal(getattr(one, name), getattr(two, name)), name


def test_another_seed_draws_other_numbers_but_the_same_weather(cell):
    one, two = (look_out(field(), cell, KNOWN, seed) for seed in (17, 18))
    assert np.array_equal(one.rain_mm, two.rain_mm)
    assert not np.array_equal(one.held_water, two.held_water)


def test_members_are_the_past_years_newest_first(cell):
    assert look_out(field(), cell, KNOWN, 1).years == tuple(range(2019, 2009, -1))
    assert past_years(cell, field(), most=3) == [2019, 2018, 2017]


@pytest.mark.parametrize(("more", "years"), [(0, [2019, 2018, 2017]), (1, [2019, 2017, 2016])])
def test_a_year_with_more_than_a_fortnight_of_missing_days_is_no_member(cell, more, years):
    """Its missing rain would count as none: a drought which never was."""
    made = cell.made.copy()
    first = cell.index(date(2018, 7, 1))
    made[first : first + MOST_MISSING_DAYS + more] |= GAP

    assert past_years(replace(cell, made=made), field(), most=3) == years


def test_known_days_are_shared_and_the_coming_ones_are_each_past_years_own(cell):
    outlook = look_out(field(), cell, KNOWN, 1)
    today = outlook.day(KNOWN) + 1
    known = cell.rain_mm[cell.index(outlook.plan.first) :][:today]
    assert np.allclose(outlook.rain_mm[:today], known[:, None])
    for m, year in enumerate(outlook.years):
        own = cell.rain_mm[cell.index(date(year, 7, 1)) :][:30]
        assert np.allclose(outlook.rain_mm[today : today + 30, m], own)


def test_weather_after_the_last_known_day_changes_nothing(cell):
    rain = cell.rain_mm.copy()
    rain[cell.index(KNOWN) + 1 :] = FLOOD
    one, two = (look_out(field(), sky, KNOWN, 1) for sky in (cell, replace(cell, rain_mm=rain)))
    for name in CUBES:
        assert np.array_equal(getattr(one, name), getattr(two, name)), name


@pytest.mark.parametrize("planted", [date(2020, 2, 20), date(2020, 3, 15), date(2020, 3, 30)])
def test_a_field_planted_before_april_never_sees_its_own_future(cell, planted):
    """Its 90 days before planting begin in the year before."""
    known = planted + timedelta(days=40)
    rain = cell.rain_mm.copy()
    rain[cell.index(known) + 1 :] = FLOOD
    outlook = look_out(field(planted), replace(cell, rain_mm=rain), known, 1)
    assert outlook.rain_mm.max() < FLOOD


def test_a_field_planted_before_april_has_each_past_years_own_days(cell):
    planted = date(2020, 3, 15)
    known = planted + timedelta(days=20)
    outlook = look_out(field(planted), cell, known, 1)
    today = outlook.day(known) + 1
    for m, year in enumerate(outlook.years):
        own = cell.rain_mm[cell.index(date(year, known.month, known.day)) + 1 :][:30]
        assert np.allclose(outlook.rain_mm[today : today + 30, m], own), year


def test_a_past_year_without_its_own_days_before_planting_borrows_none_from_elsewhere():
    """The record begins in April 2010: that spring has no February to give."""
    days = (END - date(2010, 4, 1)).days + 1
    late = plausible.demand(
        plausible.weather(np.random.default_rng(52), date(2010, 4, 1), days, 0.25)
    )
    known = date(2020, 2, 10)
    rain = late.rain_mm.copy()
    rain[late.index(known) + 1 :] = FLOOD
    outlook = look_out(field(), replace(late, rain_mm=rain), known, 1)
    assert outlook.rain_mm.max() < FLOOD


def test_a_field_to_be_planted_far_ahead_has_an_outlook_or_a_clear_refusal(cell):
    try:
        outlook = look_out(field(date(2020, 12, 1)), cell, KNOWN, 1)
    except RulesError as refused:
        assert str(refused)  # noqa: PT017
    else:
        assert np.isfinite(outlook.free_water).all()


def test_29_february_becomes_the_28th_in_a_common_year():
    assert same_day(date(2020, 2, 29), 2020, 2019) == date(2019, 2, 28)
    assert same_day(date(2020, 2, 29), 2020, 2016) == date(2016, 2, 29)
    assert same_day(date(2020, 1, 5), 2019, 2011) == date(2012, 1, 5)


def test_a_season_known_through_29_february_goes_on_with_1_march(cell):
    known = date(2020, 2, 28)
    outlook = look_out(field(), cell, known, 1)
    today = outlook.day(known) + 1
    leap, common = outlook.years.index(2016), outlook.years.index(2019)
    assert outlook.rain_mm[today, leap] == pytest.approx(
        cell.rain_mm[cell.index(date(2016, 2, 29))], rel=1e-6
    )
    assert outlook.rain_mm[today, common] == pytest.approx(
        cell.rain_mm[cell.index(date(2019, 2, 28))], rel=1e-6
    )


def test_a_cell_without_a_past_year_is_refused_with_the_reason():
    sky = plausible.weather(np.random.default_rng(53), date(2020, 1, 1), 200)
    with pytest.raises(RulesError, match="no past year of weather"):
        look_out(field(), plausible.demand(sky), KNOWN, 1)


def test_a_cell_that_begins_after_planting_is_refused_with_the_reason(cell):
    with pytest.raises(RulesError, match="not before planting"):
        look_out(field(date(2009, 5, 1)), cell, KNOWN, 1, years=[2010])


def test_more_members_than_a_block_come_out_in_their_order(cell):
    years = [2019, 2018, 2017, 2016] * 10
    outlook = look_out(field(), cell, KNOWN, 1, years=years)
    assert outlook.held_water.shape[1] == 40
    assert np.array_equal(outlook.rain_mm[:, 0], outlook.rain_mm[:, 36])
    assert not np.array_equal(outlook.rain_mm[:, 0], outlook.rain_mm[:, 1])


def test_positions_and_dates_are_each_others_way_back(cell):
    outlook = look_out(field(), cell, KNOWN, 1)
    assert outlook.date(outlook.day(KNOWN)) == KNOWN
    assert outlook.day(outlook.plan.planted) == outlook.plan.plant_day
    assert (outlook.gdd_f[: outlook.plan.plant_day + 1] == 0.0).all()
