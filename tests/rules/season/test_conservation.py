"""Water is conserved: in every part of the root zone, on every day of every season."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.season.plan import make_plan
from rootbound_rules.season.step import (
    draw_and_mix,
    rise_into_zones,
    wet_zones,
    widen_and_deepen,
    zone_day,
)
from rootbound_rules.season.trace import run_trace
from rules.season import plausible

EXACT = 1e-6
"""The promise. [mm d-1]"""
SHARE = st.floats(0.05, 1.0)
MM = st.floats(0.0, 300.0)
MANY = settings(max_examples=700, deadline=None, derandomize=True)


def held(a, within, beyond, below=0.0):
    return a * within + (1.0 - a) * beyond + below


@MANY
@given(
    st.tuples(
        st.floats(0.1, 1.5), st.floats(0, 0.05), st.floats(0.3, 1.6), st.floats(0.1, 1.6)
    ),
    SHARE, SHARE, MM, MM, MM,
)  # fmt: skip
def test_deepening_and_reach_move_water_without_losing_any(roots, a, b, within, beyond, below):
    depth, step, profile, table = roots
    if profile < depth:
        below = 0.0  # nothing lies below roots at the bottom
    limit = min(profile, table)
    deeper, inside, outside, left = widen_and_deepen(
        depth, step, profile, limit, a, b, within, beyond, below
    )
    assert depth <= deeper <= max(depth, limit)
    assert abs(held(b, inside, outside, left) - held(a, within, beyond, below)) < EXACT


@MANY
@given(MM, SHARE, MM, MM, MM)
def test_infiltration_fills_both_parts_then_the_soil_below_then_percolates(
    infiltration, a, within, beyond, below
):
    inside, outside, left, lost = wet_zones(infiltration, a, within, beyond, below)
    gained = held(a, within, beyond, below) - held(a, inside, outside, left)
    assert abs(gained - (infiltration - lost)) < EXACT
    assert min(inside, outside, left, lost) >= 0.0
    assert lost == 0.0 or left == 0.0


@MANY
@given(st.floats(0, 5), SHARE, MM, MM, MM)
def test_what_rises_from_the_table_is_found_in_the_parts(rise, a, within, beyond, below):
    inside, outside, left, risen = rise_into_zones(rise, a, within, beyond, below)
    gained = held(a, within, beyond, below) - held(a, inside, outside, left)
    assert abs(gained - risen) < EXACT
    assert 0.0 <= risen <= rise + EXACT


@MANY
@given(
    SHARE, st.floats(0, 1), st.floats(0, 1), st.floats(5, 300), st.floats(0, 12),
    st.floats(0, 12), st.tuples(st.floats(0, 400), st.floats(15, 60)),
)  # fmt: skip
def test_drinking_drying_and_mixing_take_what_they_say(
    a, within, beyond, taw, evaporation, demand, soil
):
    before = held(a, within * taw, beyond * taw)
    inside, outside, dried, drunk = draw_and_mix(
        a, within * taw, beyond * taw, taw, evaporation, demand, *soil
    )
    assert abs(held(a, inside, outside) - before - dried - drunk) < EXACT
    assert min(inside, outside) >= -EXACT
    assert max(inside, outside) <= taw + EXACT
    assert 0.0 <= drunk <= demand + EXACT
    assert -EXACT <= dried <= evaporation + EXACT


def test_thousands_of_random_root_zones_keep_their_water_and_their_table(rng):
    worst = water_table = 0.0
    for _ in range(4000):
        left, table = _chain(rng, days=12)
        worst, water_table = max(worst, left), max(water_table, table)
    assert worst < EXACT, f"{worst} mm of water lost on a day"
    assert water_table < EXACT, f"{water_table} mm of table not accounted for"


def _chain(rng, days):
    """Some days of one random root zone; the most water and table left unexplained. [mm]"""
    profile, available = rng.uniform(0.4, 1.8), rng.uniform(40, 220)
    depth, a = rng.uniform(0.1, profile), rng.uniform(0.1, 1.0)
    within, beyond = rng.uniform(0, available * depth, 2)
    below = rng.uniform(0, available) * (profile - depth)
    drain, yielding, stays = rng.uniform(0.3, 3.0), 80.0, rng.uniform(0.0, 1.0)
    table = drain + rng.uniform(-0.3, 0.5)
    worst = table_error = 0.0
    for _ in range(days):
        b = float(np.clip(a + rng.normal(0, 0.1), 0.05, 1.0))
        rain = rng.gamma(0.5, 20) * (rng.random() < 0.4)
        before, old = held(a, within, beyond, below), table
        (depth, within, beyond, below, table, ks, p, dried, drunk, lost, risen) = zone_day(
            depth, rng.uniform(0, 0.04), profile, a, b, within, beyond, below, table, rain,
            rng.uniform(0, 6), rng.uniform(0, 9), 0.55, available, rng.uniform(0, 300), 38.0,
            rng.uniform(0.01, 20), rng.uniform(2.2, 4), 2.0, 1.0, yielding, drain, stays,
        )  # fmt: skip
        a = b
        change = before - held(a, within, beyond, below)
        worst = max(worst, abs(rain - (change + dried + drunk + lost - risen)))
        wanted = _drained(old + (risen - lost) / yielding, drain, stays)
        table_error = max(table_error, yielding * abs(table - wanted))
        assert 0.0 <= ks <= 1.0
        assert 0.1 <= p <= 0.8
    return worst, table_error


def _drained(filled, drain, stays):
    """Depth of a table after a day's drainage; nothing stands above the ground. [m]"""
    return filled if filled >= drain else drain - stays * (drain - max(filled, 0.0))


@pytest.mark.parametrize("watered", [False, True], ids=["rain fed", "watered"])
def test_whole_random_seasons_keep_their_water(watered, record_property):
    worst = table = 0.0
    for seed in range(75):
        rng = np.random.default_rng([seed, watered])
        season = plausible.field(rng)
        days = run_trace(season, plausible.demand(plausible.weather(rng, watered=watered)))
        plan = make_plan(season)
        for name in ("free", "held"):
            twins = [getattr(day, name) for day in days]
            for day, old, new in zip(days[1:], twins, twins[1:], strict=False):
                worst = max(worst, abs(_unexplained(day, old, new)))
                fall = old.table + (new.rise - new.percolation) / plan.yield_
                wanted = _drained(fall, plan.table, plan.table_left)
                table = max(table, plan.yield_ * abs(new.table - wanted))
    record_property("worst_mm_d", worst)
    assert worst < EXACT, f"{worst} mm of water lost on a day"
    assert table < EXACT, f"{table} mm of table not accounted for"


def _unexplained(day, old, new):
    """Infiltration less everything that became of it. [mm]"""
    change = _twin(old) - _twin(new)
    out = new.evaporation + new.transpiration + new.percolation
    return day.infiltration_mm - (change + out - new.rise)


def _twin(twin):
    return held(twin.reach, twin.within, twin.beyond, twin.below)


def test_rain_is_either_runoff_or_infiltration(rng):
    days = run_trace(plausible.field(rng), plausible.demand(plausible.weather(rng, watered=True)))
    for day in days:
        assert day.rain_mm + day.irrigation_mm == pytest.approx(
            day.runoff_mm + day.infiltration_mm, abs=EXACT
        )
        assert 0.0 <= day.runoff_mm <= day.rain_mm
