"""Crop coefficients along the season, their limits and the cover they imply."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water.coefficients import (
    adjusted,
    canopy_height,
    climate_term,
    cover,
    height_factor,
    kc_max,
    kcb_curve,
)

SOME = settings(deadline=None, derandomize=True)
CORNERS = (400.0, 1200.0, 2200.0, 2700.0)
VALUES = (0.15, 1.15, 0.50)


@pytest.mark.parametrize(
    ("gdd", "kcb"),
    [
        (0.0, 0.15),
        (400.0, 0.15),
        (800.0, 0.65),
        (1200.0, 1.15),
        (2200.0, 1.15),
        (2450.0, 0.825),
        (2700.0, 0.50),
        (5000.0, 0.50),
    ],
)
def test_the_curve_goes_straight_between_its_corners_and_level_outside(gdd, kcb):
    assert kcb_curve(gdd, *CORNERS, *VALUES) == pytest.approx(kcb)


def test_the_climate_of_the_table_corrects_nothing():
    assert climate_term(2.0, 45.0) == 0.0
    assert adjusted(1.15, climate_term(2.0, 45.0), height_factor(2.0)) == 1.15


@SOME
@given(st.floats(-1.0, 30.0), st.floats(-10.0, 120.0))
def test_the_climate_term_is_held_within_the_limits_of_equation_62(wind, humidity):
    assert climate_term(wind, humidity) >= 0.04 * -1 - 0.004 * 35 - 1e-12
    assert climate_term(wind, humidity) <= 0.04 * 4 + 0.004 * 25 + 1e-12


def test_a_crop_three_metres_high_feels_all_of_the_climate():
    assert height_factor(3.0) == pytest.approx(1.0)
    assert height_factor(0.01) == height_factor(0.1)
    assert height_factor(20.0) == height_factor(10.0)


def test_an_end_coefficient_under_0_45_stays_as_it_is():
    assert adjusted(0.449, 0.2, 1.0) == 0.449
    assert adjusted(0.45, 0.2, 1.0) == pytest.approx(0.65)


@SOME
@given(st.floats(0.0, 1.3), st.floats(-0.2, 0.3), st.floats(0.1, 3.0))
def test_the_upper_limit_leaves_the_soil_at_least_a_little(kcb, climate, height):
    assert kc_max(kcb, climate, height_factor(height)) >= kcb + 0.05


@SOME
@given(st.floats(0.0, 1.3), st.floats(0.0, 2.5), st.floats(-0.1, 0.2))
def test_some_soil_always_stays_bare(kcb, height, climate):
    kcmax = kc_max(kcb, climate, height_factor(height))

    assert 0.0 < cover(kcb, 0.15, kcmax, height) <= 0.99


def test_cover_grows_with_the_coefficient_and_a_taller_crop_needs_more_of_it():
    shares = [cover(kcb, 0.15, 1.2, 1.0) for kcb in (0.15, 0.3, 0.6, 0.9, 1.15)]

    assert shares == sorted(shares)
    assert cover(0.6, 0.15, 1.2, 2.0) < cover(0.6, 0.15, 1.2, 0.5)


def test_height_follows_the_share_of_the_mid_season_coefficient():
    assert canopy_height(1.0, 2.0) == 2.0
    assert canopy_height(0.5, 2.0) == 1.0
