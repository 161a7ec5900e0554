"""Reference evapotranspiration: which way it moves, and its floor."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water.reference_et import hargreaves, penman_monteith, reference_et

SOME = settings(deadline=None, derandomize=True)
DAY = {
    "tmax_c": 28.0,
    "tmin_c": 16.0,
    "rs_mj": 22.0,
    "rso_mj": 30.0,
    "vapour_kpa": 1.6,
    "wind_m_s": 2.0,
    "elevation_m": 300.0,
}


def et0(**changed):
    return reference_et(**(DAY | changed))


@pytest.mark.parametrize(
    ("changed", "rises"),
    [
        ({"rs_mj": 27.0}, True),
        ({"wind_m_s": 4.0}, True),
        ({"vapour_kpa": 2.0}, False),
        ({"tmax_c": 33.0}, True),
    ],
)
def test_sun_wind_and_heat_raise_it_and_damp_air_lowers_it(changed, rises):
    assert (et0(**changed) > et0()) is rises


def test_still_air_counts_as_half_a_metre_a_second():
    assert et0(wind_m_s=0.0) == et0(wind_m_s=0.5)
    assert et0(wind_m_s=0.51) > et0(wind_m_s=0.5)


def test_a_cold_damp_night_gives_none_rather_than_less():
    assert et0(tmax_c=-10.0, tmin_c=-20.0, rs_mj=0.5, rso_mj=1.0, vapour_kpa=0.2) == 0.0


def test_it_is_the_sum_of_its_radiation_and_air_terms():
    whole = penman_monteith(20.0, 12.0, 3.0, 0.9, 0.145, 0.066)
    sun = penman_monteith(20.0, 12.0, 3.0, 0.0, 0.145, 0.066)
    air = penman_monteith(20.0, 0.0, 3.0, 0.9, 0.145, 0.066)

    assert whole == pytest.approx(sun + air)


@SOME
@given(st.floats(-20.0, 35.0), st.floats(-5.0, 25.0), st.floats(0.0, 42.0))
def test_hargreaves_is_never_negative_even_with_extremes_the_wrong_way_round(tmin, spread, ra):
    assert hargreaves(tmin + spread, tmin, ra) >= 0.0
