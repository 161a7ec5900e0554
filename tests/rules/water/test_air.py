"""Air: what must hold of vapour pressure, wind and humidity whatever the day."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water import air

SOME = settings(deadline=None, derandomize=True)
TEMPERATURES = st.floats(-30.0, 48.0)
SHARES = st.floats(5.0, 100.0)


def test_pressure_at_the_sea_is_the_standard_atmosphere():
    assert air.pressure(0.0) == pytest.approx(101.3)


@SOME
@given(st.floats(-100.0, 4000.0))
def test_pressure_and_the_psychrometric_constant_fall_with_height(z):
    assert air.pressure(z + 100.0) < air.pressure(z)
    assert air.psychrometric(air.pressure(z + 100.0)) < air.psychrometric(air.pressure(z))


@SOME
@given(TEMPERATURES)
def test_the_slope_is_that_of_the_saturation_curve(t):
    """FAO-56 Eq. 13 against a difference of Eq. 11; 4098 is rounded from 4098.17."""
    step = 1e-3
    difference = (air.saturation(t + step) - air.saturation(t - step)) / (2.0 * step)

    assert air.slope(t) == pytest.approx(difference, rel=1e-4)


@SOME
@given(TEMPERATURES, st.floats(0.0, 25.0))
def test_the_mean_of_saturation_is_above_the_saturation_of_the_mean(tmin, spread):
    tmax = tmin + spread

    assert air.mean_saturation(tmax, tmin) >= air.saturation(0.5 * (tmax + tmin)) - 1e-12


@SOME
@given(TEMPERATURES, st.floats(0.0, 25.0), SHARES, SHARES)
def test_vapour_from_humidities_is_never_above_saturation(tmin, spread, one, other):
    rhmax, rhmin = max(one, other), min(one, other)
    tmax = tmin + spread

    vapour = air.vapour_from_humidities(tmax, tmin, rhmax, rhmin)

    assert 0.0 < vapour <= air.mean_saturation(tmax, tmin) + 1e-12


@SOME
@given(TEMPERATURES, SHARES)
def test_all_forms_of_humidity_agree_on_a_day_of_one_temperature(t, share):
    same = air.vapour_from_humidities(t, t, share, share)

    assert air.vapour_from_rhmax(t, share) == pytest.approx(same)
    assert air.vapour_from_rhmean(t, t, share) == pytest.approx(same)
    assert air.lowest_humidity(same, t) == pytest.approx(share)


@SOME
@given(TEMPERATURES)
def test_a_dry_bulb_as_cold_as_the_wet_one_means_saturated_air(t):
    assert air.vapour_from_wet_bulb(t, t, 101.3, 0.000662) == air.saturation(t)
    assert air.vapour_from_dewpoint(t) == air.saturation(t)


@SOME
@given(TEMPERATURES)
def test_without_humidity_the_dew_point_is_the_lowest_temperature(tmin):
    """FAO-56 Eq. 48 has 0.611 where Eq. 11 has 0.6108."""
    assert air.vapour_from_tmin(tmin) == pytest.approx(air.saturation(tmin), rel=4e-4)


def test_wind_measured_at_2_m_stays_as_it_is():
    assert air.wind_at_2m(3.0, 2.0) == pytest.approx(3.0, rel=1e-3)
    assert air.wind_at_2m(3.0, 10.0) < 3.0
