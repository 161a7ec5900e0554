"""An outlook that begins with a forecast: each member has a trace of it, then its past year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.errors import RulesError
from rootbound_rules.season.coming import ComingDays
from rootbound_rules.season.members import share_out, sobol_points
from rootbound_rules.season.outlook import look_out
from rules.season import plausible

BEGIN, END = date(2010, 1, 1), date(2020, 7, 31)
KNOWN = date(2020, 6, 30)
MEMBERS = 10
CUBES = ("free_stress", "held_stress", "free_water", "held_water", "reach", "gdd_f", "rain_mm")


@pytest.fixture(scope="module")
def cell():
    """Eleven years of one cell, the last one a month beyond what is known."""
    days = (END - BEGIN).days + 1
    return plausible.demand(plausible.weather(np.random.default_rng(51), BEGIN, days, 0.25))


def field(planted=date(2020, 5, 1)):
    dug = replace(plausible.rated(2, crossing=8, held=12), dug_on=planted + timedelta(days=30))
    return replace(plausible.plain_field(digs=(dug,)), planted=planted)


def forecast(traces=4, days=7, rain=None, start=KNOWN + timedelta(days=1), heat=22.0):
    """Days of one air; rain as given, else a figure of each trace's own on every day."""
    own = np.repeat(np.arange(1.0, traces + 1)[:, None], days, axis=1)
    fallen = own if rain is None else np.full((traces, days), rain)
    one = np.ones((traces, days))
    return ComingDays(start, fallen, 5.0 * one, heat * one, 0.02 * one)


def truth(cell, days):
    """What the cell had on the days after the last known one, as a forecast of one trace."""
    first = cell.index(KNOWN) + 1
    rows = (cell.rain_mm, cell.et0_mm, cell.gdd_f, cell.climate)
    return ComingDays(KNOWN + timedelta(days=1), *(row[None, first : first + days] for row in rows))


@given(st.integers(1, 40), st.integers(1, 70), st.integers(0, 2**31))
def test_traces_are_shared_out_as_evenly_as_can_be(traces, members, seed):
    counts = np.bincount(share_out(traces, members, seed), minlength=traces)
    assert counts.sum() == members
    assert counts.max() - counts.min() <= 1


def test_who_takes_which_trace_is_the_seeds_own():
    assert np.array_equal(share_out(8, 30, 5), share_out(8, 30, 5))
    assert not np.array_equal(share_out(8, 30, 5), share_out(8, 30, 6))


def test_each_member_has_its_trace_and_then_the_same_calendar_days_of_its_year(cell):
    outlook = look_out(field(), cell, KNOWN, 3, coming=forecast())
    today, taken = outlook.day(KNOWN) + 1, share_out(4, MEMBERS, 3)
    for m, year in enumerate(outlook.years):
        assert (outlook.rain_mm[today : today + 7, m] == taken[m] + 1.0).all()
        own = cell.rain_mm[cell.index(date(year, 7, 8)) :][:30]
        assert np.allclose(outlook.rain_mm[today + 7 : today + 37, m], own), year


def test_heat_goes_on_from_the_known_days_through_the_forecast(cell):
    outlook = look_out(field(), cell, KNOWN, 3, coming=forecast(heat=22.0))
    today = outlook.day(KNOWN) + 1
    steps = np.diff(outlook.gdd_f[today - 1 : today + 7], axis=0)
    assert np.allclose(steps, 22.0, atol=1e-3)


def test_the_order_of_members_days_is_the_same_on_every_run(cell):
    one, two = (look_out(field(), cell, KNOWN, 17, coming=forecast()) for _ in range(2))
    for name in CUBES:
        assert np.array_equal(getattr(one, name), getattr(two, name)), name


def test_the_past_is_not_changed_by_the_rain_that_is_forecast(cell):
    dry, wet = (look_out(field(), cell, KNOWN, 3, coming=forecast(rain=mm)) for mm in (0.0, 40.0))
    today = dry.day(KNOWN) + 1
    for name in CUBES:
        assert np.array_equal(getattr(dry, name)[:today], getattr(wet, name)[:today]), name
    assert not np.array_equal(dry.held_water[today:], wet.held_water[today:])


def test_the_air_that_is_forecast_moves_the_past_no_more_than_the_seasons_climate_does(cell):
    """FAO-56 Eq. 70: mean wind and humidity of the whole mid-season set its coefficient."""
    bare, told = (look_out(field(), cell, KNOWN, 3, coming=one) for one in (None, forecast()))
    today = bare.day(KNOWN) + 1
    for name in ("free_water", "held_water"):
        one, two = getattr(bare, name), getattr(told, name)
        assert np.array_equal(one[: bare.plan.plant_day], two[: bare.plan.plant_day]), name
        assert np.abs(one[:today] - two[:today]).max() < 0.1, name


def test_a_forecast_that_is_the_truth_makes_these_days_the_truth(cell):
    """The same days as known ones, by another way: every member agrees with them."""
    days = 14
    later = KNOWN + timedelta(days=days)
    told = look_out(field(), cell, KNOWN, 3, coming=truth(cell, days))
    known = look_out(field(), cell, later, 3)
    end = told.day(later) + 1
    for name in CUBES:
        one, two = getattr(told, name), getattr(known, name)
        assert np.allclose(one[:end], two[:end], atol=1e-3), name
        assert np.allclose(one, two, atol=1e-3), f"{name} after these days"


def test_a_dry_forecast_leaves_less_water_and_more_stress_than_a_wet_one(cell):
    dry, wet = (
        look_out(field(), cell, KNOWN, 3, coming=forecast(days=28, rain=mm)) for mm in (0.0, 15.0)
    )
    end = dry.day(KNOWN) + 29
    assert (dry.held_water[end - 1] < wet.held_water[end - 1]).all()
    assert dry.held_stress[:end].sum() > wet.held_stress[:end].sum()


@pytest.mark.parametrize("off", [-1, 1, 5])
def test_a_forecast_that_leaves_a_gap_or_overlaps_is_refused(cell, off):
    with pytest.raises(RulesError, match="wanted 2020-07-01"):
        look_out(field(), cell, KNOWN, 3, coming=forecast(start=KNOWN + timedelta(days=1 + off)))


def test_a_forecast_beyond_the_seasons_end_is_cut(cell):
    outlook = look_out(field(), cell, KNOWN, 3, coming=forecast(days=400, rain=3.0))
    assert (outlook.rain_mm[outlook.day(KNOWN) + 1 :] == 3.0).all()


def test_a_forecast_without_a_day_changes_nothing(cell):
    none = look_out(field(), cell, KNOWN, 3, coming=forecast(days=0))
    assert np.array_equal(none.held_water, look_out(field(), cell, KNOWN, 3).held_water)


def test_a_field_to_be_planted_after_the_forecast_sees_none_of_it(cell):
    """Its first simulated day lies behind the forecast's last."""
    planted = KNOWN + timedelta(days=110)
    one, two = (
        look_out(field(planted), cell, KNOWN, 3, coming=coming) for coming in (None, forecast())
    )
    assert np.array_equal(one.rain_mm, two.rain_mm)


def test_points_given_take_the_place_of_the_seeds_own(cell):
    own = look_out(field(), cell, KNOWN, 3)
    given_ = look_out(field(), cell, KNOWN, 99, points=sobol_points(MEMBERS, 3))
    assert np.array_equal(own.held_water, given_.held_water)
    with pytest.raises(RulesError, match="draws of shape"):
        look_out(field(), cell, KNOWN, 3, points=sobol_points(MEMBERS + 1, 3))
