"""What is read of a trace: planting day's water, rain about planting, dryness since."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.spring import read_spring
from rootbound_rules.season.trace import run_trace
from rootbound_rules.tables import load_table
from rules.season import plausible

PLANTED = plausible.PLANTED
FIELD = plausible.plain_field()
SOAKING = load_table("dig_list").number("rain.soaking_mm")


def days(rain=None, given=None):
    """Ninety days before planting and sixty after, dry but for the rain given by day."""
    sky = plausible.weather(np.random.default_rng(3), days=150, wet_share=0.0)
    demand = plausible.demand(sky)
    wet, watered = np.zeros(150), np.zeros(150)
    for since, mm in (rain or {}).items():
        wet[90 + since] = mm
    for since, mm in (given or {}).items():
        watered[90 + since] = mm
    return replace(demand, rain_mm=wet, irrigation_mm=watered)


def spring(rain=None, after=20, given=None, irrigated=False):
    today = PLANTED + timedelta(days=after)
    return read_spring(FIELD, days(rain, given), today, irrigated=irrigated)


def test_planting_on_the_morning_after_a_flood_is_near_field_capacity():
    wet, dry = spring({-1: 80.0}), spring({-20: 5.0})

    assert 0.8 < wet.planted_share <= 1.0
    # the driest the layer can be is half the wilting point: FAO-56 Eq. 73
    driest = 0.5 * FIELD.soil.wilting_point / FIELD.soil.field_capacity
    assert driest - 1e-9 <= dry.planted_share < 0.6


def test_rain_of_the_three_days_before_and_of_planting_day_is_told_apart():
    told = spring({-4: 50.0, -3: 1.0, -2: 2.0, -1: 4.0, 0: 8.0, 1: 16.0})

    assert (told.rain_before_mm, told.rain_planting_mm) == (7.0, 8.0)


def test_planting_days_own_rain_does_not_make_its_morning_wetter():
    assert spring({0: 60.0}).planted_share == spring({}).planted_share


def test_the_spell_counts_days_without_a_soaking_rain():
    told = spring({3: SOAKING, 10: SOAKING - 0.1, 15: SOAKING}, after=20)

    # days 1-2, then 4-14, then 16-19
    assert (told.longest_dry, told.since_soaking, told.days_planted) == (11, 4, 19)


def test_without_a_soaking_rain_since_planting_none_is_named():
    told = spring({-1: 50.0}, after=8)

    assert told.since_soaking is None
    assert told.longest_dry == told.days_planted == 7


def test_watering_wets_as_rain_does():
    assert spring(given={5: 20.0}, after=10).longest_dry == spring({5: 20.0}, after=10).longest_dry


def test_the_top_layer_dries_until_rain_wets_it():
    assert spring(after=40).top_dry > 0.9
    assert spring({39: 60.0}, after=40).top_dry < 0.3


def test_rain_of_today_and_later_is_not_read():
    assert spring({20: 90.0, 25: 90.0}, after=20) == spring({}, after=20)


def test_the_water_of_planting_is_that_of_the_trace():
    rain = {-6: 12.0, -2: 9.0}
    trace = run_trace(FIELD, days(rain))
    eve = next(day for day in trace if day.date == PLANTED - timedelta(days=1))
    depth = 1000.0 * load_table("season").number("top_layer_m")
    theta = FIELD.soil.field_capacity - eve.top_depletion_mm / depth

    assert spring(rain).planted_share == pytest.approx(theta / FIELD.soil.field_capacity)


def test_weather_that_begins_on_planting_day_tells_nothing_of_planting():
    whole = days()
    cut = replace(whole, start=PLANTED, **{
        name: getattr(whole, name)[90:]
        for name in ("rain_mm", "et0_mm", "gdd_f", "climate", "irrigation_mm", "made")
    })  # fmt: skip
    with pytest.raises(RulesError, match="days around planting"):
        read_spring(FIELD, cut, PLANTED + timedelta(days=9), irrigated=False)
