"""A field's own gauge takes the place of the grid's rain; its irrigation adds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.errors import RulesError
from rootbound_rules.season.demand import GAP, cell_demand
from rootbound_rules.season.observed import with_observed
from rootbound_rules.season.outlook import look_out
from rules.season import plausible
from rules.season.rolling_world import case

START = date(2020, 1, 1)
DAY = date(2020, 6, 10)
SKY = plausible.weather(np.random.default_rng(91), START, 250, 0.3, watered=True)
CELL = plausible.demand(SKY)


def test_the_gauges_rain_stands_on_its_day_and_on_no_other():
    field = with_observed(CELL, {DAY: 33.0}, {})
    others = np.arange(len(CELL)) != CELL.index(DAY)

    assert field.rain_mm[CELL.index(DAY)] == 33.0
    assert np.array_equal(field.rain_mm[others], CELL.rain_mm[others])
    assert np.array_equal(field.irrigation_mm, CELL.irrigation_mm)


def test_a_dry_gauge_under_a_wet_grid_is_dry():
    wet = START + timedelta(days=int(np.argmax(CELL.rain_mm)))

    assert CELL.rain_mm[CELL.index(wet)] > 0.0
    assert with_observed(CELL, {wet: 0.0}, {}).rain_mm[CELL.index(wet)] == 0.0


def test_irrigation_adds_to_what_the_days_have():
    watered = START + timedelta(days=int(np.argmax(CELL.irrigation_mm)))
    had = CELL.irrigation_mm[CELL.index(watered)]
    field = with_observed(CELL, {}, {watered: 25.0})

    assert had > 0.0
    assert field.irrigation_mm[CELL.index(watered)] == had + 25.0
    assert np.array_equal(field.rain_mm, CELL.rain_mm)


def test_the_cells_own_days_are_left_as_they_are_for_its_other_fields():
    before = CELL.rain_mm.copy(), CELL.irrigation_mm.copy(), CELL.made.copy()
    with_observed(CELL, {DAY: 33.0}, {DAY: 25.0})

    assert all(
        np.array_equal(was, now)
        for was, now in zip(before, (CELL.rain_mm, CELL.irrigation_mm, CELL.made), strict=True)
    )


def test_a_field_nobody_observed_shares_the_cells_days():
    assert with_observed(CELL, {}, {}) is CELL


def test_a_gap_of_rain_is_none_any_more_and_other_marks_stay():
    rain = SKY.rain_mm.copy()
    rain[CELL.index(DAY)] = rain[CELL.index(DAY) + 1] = np.nan
    cell = cell_demand(replace(SKY, rain_mm=rain), plausible.LAT, plausible.ELEVATION_M)
    field = with_observed(cell, {DAY: 0.0}, {})
    changed = np.flatnonzero(field.made != cell.made)

    assert changed.tolist() == [cell.index(DAY)]
    assert field.made[changed[0]] == cell.made[changed[0]] - GAP


def test_a_gap_of_temperature_stays_a_gap():
    tmax, rain = SKY.tmax_c.copy(), SKY.rain_mm.copy()
    tmax[CELL.index(DAY)], rain[CELL.index(DAY)] = np.nan, 4.0
    sky = replace(SKY, tmax_c=tmax, rain_mm=rain)
    cell = cell_demand(sky, plausible.LAT, plausible.ELEVATION_M)

    assert with_observed(cell, {DAY: 9.0}, {}).made[cell.index(DAY)] & GAP


@pytest.mark.parametrize("day", [START - timedelta(days=1), START + timedelta(days=250)])
def test_a_day_the_cell_has_no_weather_of_waits(day):
    field = with_observed(CELL, {day: 12.0}, {day: 12.0})

    assert np.array_equal(field.rain_mm, CELL.rain_mm)
    assert np.array_equal(field.irrigation_mm, CELL.irrigation_mm)


@pytest.mark.parametrize("depth", [-0.1, float("nan"), float("inf")])
def test_a_depth_that_is_none_is_refused_with_its_day(depth):
    with pytest.raises(RulesError, match="rain of 2020-06-10 is"):
        with_observed(CELL, {DAY: depth}, {})
    with pytest.raises(RulesError, match="irrigation of 2020-06-10 is"):
        with_observed(CELL, {}, {DAY: depth})


def test_a_wet_gauge_leaves_a_field_with_more_water_than_its_neighbour_and_a_dry_one_with_less():
    one = case(35)
    last = [one.known - timedelta(days=back) for back in range(14)]

    def water(rain, given_mm):
        demand = with_observed(one.demand, rain, given_mm)
        outlook = look_out(one.season, demand, one.known, 1, one.years)
        return float(np.median(outlook.held_water[outlook.day(one.known)]))

    plain, wet = water({}, {}), water({one.known: 60.0}, {})

    assert water(dict.fromkeys(last, 0.0), {}) <= plain < wet
    assert plain < water({}, {one.known: 40.0}) < wet


days = st.integers(0, 249).map(lambda back: START + timedelta(days=back))


@given(
    st.dictionaries(days, st.floats(0, 300), max_size=8),
    st.dictionaries(days, st.floats(0, 150), max_size=8),
)
def test_the_water_that_falls_is_what_was_observed_and_the_grids_elsewhere(rain, given_mm):
    field = with_observed(CELL, rain, given_mm)
    want = CELL.rain_mm.sum() + sum(mm - CELL.rain_mm[CELL.index(day)] for day, mm in rain.items())

    assert field.rain_mm.sum() == pytest.approx(want, abs=1e-6)
    assert field.irrigation_mm.sum() == pytest.approx(
        CELL.irrigation_mm.sum() + sum(given_mm.values()), abs=1e-6
    )
