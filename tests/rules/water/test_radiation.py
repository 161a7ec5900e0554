"""Sun and longwave: limits that no latitude or day may break."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water import radiation

SOME = settings(deadline=None, derandomize=True)
LATITUDES = st.floats(-66.0, 66.0)
DAYS = st.integers(1, 366)


@SOME
@given(LATITUDES, DAYS)
def test_opposite_latitudes_share_the_hours_of_a_day(lat, day):
    north, south = (radiation.daylight_hours(side, day) for side in (lat, -lat))

    assert north + south == pytest.approx(24.0)


@SOME
@given(st.floats(-90.0, 90.0), DAYS)
def test_radiation_above_the_air_is_never_negative_even_at_a_pole(lat, day):
    assert 0.0 <= radiation.extraterrestrial(lat, day) + 1e-9 < 50.0


def test_polar_night_and_polar_day_have_no_hour_and_all_hours():
    assert radiation.daylight_hours(80.0, 355) == 0.0
    assert radiation.daylight_hours(80.0, 172) == pytest.approx(24.0)


@SOME
@given(DAYS)
def test_a_day_at_the_equator_is_twelve_hours(day):
    assert radiation.daylight_hours(0.0, day) == pytest.approx(12.0)


def test_the_sun_is_nearest_in_january():
    distances = [radiation.sun_distance(day) for day in range(1, 366)]

    assert max(distances) == pytest.approx(1.033, abs=1e-4)
    assert distances.index(min(distances)) in range(180, 185)


@SOME
@given(LATITUDES, DAYS, st.floats(0.0, 1.0))
def test_sunshine_gives_between_a_quarter_and_three_quarters_of_what_comes_in(lat, day, share):
    ra, hours = radiation.extraterrestrial(lat, day), radiation.daylight_hours(lat, day)

    rs = radiation.from_sunshine(ra, share * hours, hours)

    assert 0.25 * ra - 1e-9 <= rs <= 0.75 * ra + 1e-9
    assert rs <= radiation.clear_sky(ra, 0.0) + 1e-9


@SOME
@given(st.floats(5.0, 45.0), st.floats(-10.0, 30.0), st.floats(-5.0, 40.0), st.floats(0.14, 0.20))
def test_radiation_from_temperatures_never_passes_a_clear_sky(ra, tmin, spread, krs):
    rso = radiation.clear_sky(ra, 200.0)

    assert 0.0 <= radiation.from_temperatures(ra, tmin + spread, tmin, krs, rso) <= rso


@SOME
@given(st.floats(1.0, 40.0))
def test_grass_keeps_77_percent_of_the_shortwave(rs):
    assert radiation.net_shortwave(rs) == pytest.approx(0.77 * rs)


@SOME
@given(st.floats(-10.0, 30.0), st.floats(0.0, 20.0), st.floats(0.3, 3.0), st.floats(0.3, 1.0))
def test_a_clearer_sky_and_drier_air_lose_more_longwave(tmin, spread, vapour, share):
    tmax, rso = tmin + spread, 30.0

    here = radiation.net_longwave(tmax, tmin, vapour, share * rso, rso)

    assert here <= radiation.net_longwave(tmax, tmin, vapour, rso, rso) + 1e-12
    assert here <= radiation.net_longwave(tmax, tmin, 0.5 * vapour, share * rso, rso)


def test_a_reading_above_clear_sky_counts_as_clear_sky():
    clear, above = (radiation.net_longwave(25.0, 15.0, 1.5, rs, 30.0) for rs in (30.0, 36.0))

    assert above == clear


def test_degrees_south_are_negative_radians():
    assert radiation.radians(-90.0) == pytest.approx(-0.5 * math.pi)
