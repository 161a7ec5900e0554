"""No state leaves its limits, whatever the weather; more rain never makes a field drier."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.layout import Out
from rootbound_rules.season.plan import make_plan
from rootbound_rules.season.step import wet_zones
from rootbound_rules.season.trace import run_trace
from rules.season import plausible
from rules.season.members import kernel_of

DAYS = plausible.DAYS
ROUNDING = 1e-9
SERIES = ("rain_mm", "et0_mm", "gdd_f", "climate", "irrigation_mm", "made")
FLAT = np.ones(DAYS)
EXTREMES = {
    "no rain": {"rain_mm": 0 * FLAT},
    "100 mm every day": {"rain_mm": 100 * FLAT},
    "50 degC": {"tmax_c": 50 * FLAT, "tmin_c": 35 * FLAT, "rain_mm": 0 * FLAT},
    "polar cold": {"tmax_c": -40 * FLAT, "tmin_c": -65 * FLAT},
    "one temperature": {"tmax_c": 20 * FLAT, "tmin_c": 20 * FLAT},
    "300 mm at once": {"rain_mm": np.where(np.arange(DAYS) == 150, 300.0, 0.0)},
    "gale and dry air": {"wind_m_s": 25 * FLAT, "rhmin_pct": 1 * FLAT, "rhmax_pct": 5 * FLAT},
    "fog": {"wind_m_s": 0 * FLAT, "rhmin_pct": 100 * FLAT, "rhmax_pct": 100 * FLAT},
}


def test_every_state_stays_within_its_limits_in_random_seasons():
    for seed in range(80):
        rng = np.random.default_rng([11, seed])
        season = plausible.field(rng)
        sky = plausible.demand(plausible.weather(rng, watered=bool(seed % 2)))
        _assert_within_limits(run_trace(season, sky), season)


@pytest.mark.parametrize("name", EXTREMES)
def test_every_state_stays_within_its_limits_in_extreme_weather(name):
    for seed in range(6):
        rng = np.random.default_rng([12, seed])
        season = plausible.field(rng)
        sky = plausible.demand(replace(plausible.weather(rng), **EXTREMES[name]))
        _assert_within_limits(run_trace(season, sky), season)


@pytest.mark.parametrize("name", EXTREMES)
def test_the_members_stay_finite_and_within_their_limits_in_extreme_weather(name):
    for seed in range(12):
        rng = np.random.default_rng([13, seed])
        season = plausible.field(rng)
        sky = plausible.demand(replace(plausible.weather(rng), **EXTREMES[name]))
        cube = kernel_of(season, [sky])
        stored = 1000 * (season.soil.field_capacity - season.soil.wilting_point) * 1.8
        assert np.isfinite(cube).all()
        for row in (Out.FREE_STRESS, Out.HELD_STRESS):
            assert cube[:, row].min() >= 0.0
            assert cube[:, row].max() <= 1.0
        for row in (Out.FREE_WATER, Out.HELD_WATER):
            assert cube[:, row].min() >= 0.0
            assert cube[:, row].max() <= stored
        assert cube[:, Out.REACH].min() > 0.0
        assert cube[:, Out.REACH].max() <= 1.0


def test_a_place_in_polar_night_has_a_demand_of_none_rather_than_no_number():
    sky = plausible.weather(np.random.default_rng(1), date(2020, 12, 1), 40)
    made = cell_demand(sky, 70.0, 10.0)
    assert np.isfinite(made.et0_mm).all()
    assert (made.et0_mm >= 0.0).all()


def test_more_infiltration_never_leaves_any_part_drier(rng):
    for _ in range(3000):
        a, within, beyond, below = rng.random(), *rng.uniform(0, 100, 3)
        rain, more = rng.gamma(0.5, 30), rng.gamma(0.5, 10)
        less_wet = wet_zones(rain, a, within, beyond, below)
        wetter = wet_zones(rain + more, a, within, beyond, below)
        assert all(w <= d for w, d in zip(wetter[:3], less_wet[:3], strict=True))
        assert wetter[3] >= less_wet[3]


@pytest.mark.parametrize("texture", ["sand", "loamy sand", "loam", "silty clay loam", "clay"])
def test_more_rain_never_leaves_the_field_drier_the_same_evening(texture, record_property):
    """Half a millimetre is allowed: Ks sees the rain before the day's evaporation takes it."""
    worst, case = 0.0, ""
    for seed in range(10):
        rng = np.random.default_rng([14, seed])
        season = replace(plausible.field(rng), soil=plausible.plain_field(texture).soil)
        sky = plausible.demand(plausible.weather(rng, days=240))
        sky = replace(sky, climate=np.zeros(240))  # a shorter season keeps its coefficients
        days = run_trace(season, sky)
        for d in rng.integers(90, 240, 24).tolist():
            more = float(rng.choice([0.1, 0.5, 1, 2, 5, 20, 60]))
            wetter = run_trace(season, _until(sky, d, more))[-1]
            assert wetter.infiltration_mm >= days[d].infiltration_mm
            for name in ("free", "held"):
                if getattr(wetter, name).percolation > getattr(days[d], name).percolation:
                    continue  # a full profile: the rain drained, and wet ground evaporates more
                drier = _depletion(getattr(wetter, name)) - _depletion(getattr(days[d], name))
                if drier > worst:
                    worst = drier
                    case = f"{name} twin, {more} mm more on day {d} of seed {seed}"
    record_property("worst_drier_mm", worst)
    assert worst <= 0.5, f"{worst:.2f} mm drier: {case}"


@pytest.mark.parametrize("texture", ["sand", "loam", "clay"])
def test_the_day_never_evaporates_more_than_the_top_layer_holds(texture, record_property):
    worst = 0.0
    for seed in range(10):
        rng = np.random.default_rng([15, seed])
        season = replace(plausible.field(rng), soil=plausible.plain_field(texture).soil)
        plan = make_plan(season)
        days = run_trace(season, plausible.demand(plausible.weather(rng)))
        for before, day in itertools.pairwise(days):
            wetted = max(before.top_depletion_mm - day.infiltration_mm, 0.0)
            worst = max(worst, day.ke * day.et0_mm - (plan.tew - wetted))
    record_property("worst_mm", worst)
    assert worst <= 0.01, f"{worst:.2f} mm evaporated beyond what the top layer held"


def _assert_within_limits(days, season):
    available = 1000.0 * (season.soil.field_capacity - season.soil.wilting_point)
    profile, half = make_plan(season).profile, ROUNDING
    for day in days:
        assert -half <= day.top_depletion_mm <= make_plan(season).tew + half
        assert 0.0 <= day.crossed <= 1.0 + half
        assert 0.0 <= day.trapped <= 1.0 + half
        for twin in (day.free, day.held):
            assert np.isfinite([twin.depth, twin.within, twin.beyond, twin.below]).all()
            assert -half <= twin.within <= twin.taw + half
            assert -half <= twin.beyond <= twin.taw + half
            assert -half <= twin.below <= available * (profile - twin.depth) + half
            assert 0.0 <= twin.ks <= 1.0
            assert 0.0 < twin.reach <= 1.0
            assert 0.1 <= twin.p <= 0.8
            assert 0.0 <= twin.water <= twin.taw
            assert 0.1 <= twin.depth <= profile + half


def _until(sky, d, more):
    """The days up to ``d`` with more rain on it."""
    rain = sky.rain_mm.copy()
    rain[d] += more
    cut = {name: getattr(sky, name)[: d + 1] for name in SERIES}
    return replace(sky, **cut | {"rain_mm": rain[: d + 1]})


def _depletion(twin):
    return twin.reach * twin.within + (1.0 - twin.reach) * twin.beyond + twin.below
