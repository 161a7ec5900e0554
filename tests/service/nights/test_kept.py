"""Past years are packed once a cell and come back to the digit."""

from __future__ import annotations

import json
import zlib
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.season.values import DailyWeather
from rootbound_service.errors import ServiceError
from rootbound_service.nights.kept import (
    cut_of,
    days_from,
    joined,
    past_fingerprint,
    past_of,
)
from rootbound_service.nights.kept_pack import pack_past, unpack_past

START, FIRST = date(2024, 1, 1), date(2026, 2, 3)
DAYS = 3 * 365


def some_weather(days: int = DAYS, seed: int = 1) -> DailyWeather:
    """Days with gaps, without a series for wind."""
    chance = np.random.default_rng(seed)
    tmax = chance.normal(20, 8, days).round(4)
    tmax[[3, days - 9]] = np.nan
    rain = chance.gamma(0.3, 9, days).round(4)
    return DailyWeather(
        START, tmax, (tmax - 10).round(4), rain, solar_mj=chance.normal(15, 4, days)
    )


def same(one: DailyWeather, other: DailyWeather) -> bool:
    names = ("tmax_c", "tmin_c", "rain_mm", "solar_mj")
    return one.start == other.start and all(
        np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True) for name in names
    )


def test_past_and_season_together_are_the_weather_to_the_digit():
    weather = some_weather()
    cut = cut_of(weather, FIRST)

    again = joined(unpack_past(pack_past(weather, cut)), cut, days_from(weather, cut))

    assert cut == date(2026, 1, 1)
    assert same(again, weather)
    assert again.wind_m_s is None


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5))
def test_any_number_comes_back(values):
    weather = replace(some_weather(740), rain_mm=np.resize(values, 740))
    cut = cut_of(weather, FIRST)

    again = joined(unpack_past(pack_past(weather, cut)), cut, days_from(weather, cut))

    assert same(again, weather)


def test_a_further_night_and_a_later_planting_leave_the_past_as_it_is():
    tonight, later = some_weather(DAYS - 200), some_weather(DAYS)
    later = replace(later, **{
        name: np.concatenate([getattr(tonight, name), getattr(later, name)[DAYS - 200 :]])
        for name in ("tmax_c", "tmin_c", "rain_mm", "solar_mj")
    })  # fmt: skip

    early = past_fingerprint(tonight, cut_of(tonight, FIRST))
    late = past_fingerprint(later, cut_of(later, date(2026, 3, 20)))

    assert early == late


def test_one_corrected_day_of_the_past_changes_its_fingerprint():
    weather = some_weather()
    rain = weather.rain_mm.copy()
    rain[40] += 0.0001
    cut = cut_of(weather, FIRST)

    assert past_fingerprint(weather, cut) != past_fingerprint(replace(weather, rain_mm=rain), cut)


def test_weather_that_begins_this_year_has_no_past():
    weather = replace(some_weather(200), start=date(2026, 1, 20))
    cut = cut_of(weather, FIRST)

    assert cut == weather.start
    assert same(joined(None, cut, days_from(weather, cut)), weather)


def test_a_past_that_was_kept_in_form_1_comes_back_to_the_digit():
    weather = some_weather()
    cut = cut_of(weather, FIRST)
    past = past_of(weather, cut)
    head = {"form": 1, "start": "2024-01-01", "names": list(past)}
    kept = json.dumps(head).encode() + b"\n" + np.array([*past.values()], "<f8").tobytes()

    again = unpack_past(zlib.compress(kept))

    assert same(again, unpack_past(pack_past(weather, cut)))


def test_numbers_of_four_decimals_take_a_third_less_and_others_come_back_too():
    chance, days = np.random.default_rng(3), 20 * 365
    rough = DailyWeather(START, *(chance.normal(20, 8, days) for _ in range(3)))
    four = DailyWeather(START, rough.tmax_c.round(4), rough.tmin_c.round(4), rough.rain_mm.round(4))
    end = date(2050, 1, 1)

    assert len(pack_past(four, end)) < 0.5 * len(pack_past(rough, end))
    assert np.array_equal(unpack_past(pack_past(rough, end)).tmax_c, rough.tmax_c)


@pytest.mark.parametrize(
    "broken",
    [
        b"", b"not packed", pack_past(some_weather(), FIRST)[:-9], b"{}\n", b"{\n",
        pack_past(some_weather(), FIRST).replace(b'"whole": 3', b'"whole": 2'),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_in_a_sentence(broken):
    with pytest.raises(ServiceError, match="kept weather cannot be read"):
        unpack_past(broken)


def test_a_past_of_other_days_does_not_fit():
    weather = some_weather()
    past = unpack_past(pack_past(weather, date(2025, 12, 31)))

    with pytest.raises(ServiceError, match="does not fit"):
        joined(past, date(2026, 1, 1), days_from(weather, date(2026, 1, 1)))
