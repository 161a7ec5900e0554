"""What becomes of gridMET's quantities: dew point, wind, and numbers that no weather has."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water.air import saturation
from rootbound_service.public.http import Unavailable
from rootbound_service.weather.sources import gridmet_names as names
from rootbound_service.weather.sources.gridmet_units import TO_2_M, dewpoint, to_ours

SOME = settings(deadline=None, derandomize=True)

GOOD = {
    names.TMAX: 298.15,
    names.TMIN: 291.15,
    names.RAIN: 0.0,
    names.SOLAR: 250.0,
    names.WIND: 3.2,
    names.RHMAX: 82.0,
    names.RHMIN: 54.0,
}


def ours(**changes):
    known = {variable.short: variable for variable in GOOD}
    given_ = GOOD | {known[short]: value for short, value in changes.items()}
    return to_ours({v: np.array([[value]]) for v, value in given_.items()}, "gridMET")[:, 0, 0]


def test_the_vapour_pressure_is_that_of_the_worked_example():
    # FAO-56 Example 5: Tmin 18 with RHmax 82 %, Tmax 25 with RHmin 54 %: ea = 1.70 kPa
    found = dewpoint(*(np.array([value]) for value in (25.0, 18.0, 82.0, 54.0)))[0]

    assert saturation(found) == pytest.approx(1.70, abs=0.005)


def test_wind_goes_to_2_m_as_in_the_worked_example():
    # FAO-56 Example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m
    assert round(ours()[5], 1) == 2.4
    assert pytest.approx(0.748, abs=5e-4) == TO_2_M


def test_radiation_is_the_mean_power_over_a_day():
    assert ours()[3] == pytest.approx(250.0 * 86_400 / 1e6)


@SOME
@given(st.floats(-40, 45), st.floats(0, 30), st.floats(5, 100), st.floats(0, 1))
def test_the_dew_point_is_that_of_the_vapour_and_not_above_the_highest_temperature(
    tmin, spread, rhmax, part
):
    rhmin = rhmax * part
    found = dewpoint(*(np.array([value]) for value in (tmin + spread, tmin, rhmax, rhmin)))[0]

    vapour = (saturation(tmin) * rhmax + saturation(tmin + spread) * rhmin) / 200
    assert saturation(found) == pytest.approx(vapour, rel=1e-9)
    assert found <= tmin + spread + 1e-9


@pytest.mark.parametrize("gone", ["tmmx", "tmmn", "rmax", "rmin"])
def test_a_dew_point_needs_all_that_it_is_made_of(gone):
    assert np.isnan(ours(**{gone: np.nan})[4])


def test_the_driest_air_that_the_service_can_tell_still_has_a_dew_point():
    assert saturation(ours(rmax=0.1, rmin=0.0)[4]) == pytest.approx(saturation(18.0) * 0.1 / 200)


def test_air_without_vapour_has_no_dew_point():
    assert np.isnan(ours(rmax=0.0, rmin=0.0)[4])


@pytest.mark.parametrize(
    ("short", "value"), [("tmmx", 812.0), ("tmmn", 0.0), ("pr", -0.1), ("vs", 1e5), ("rmax", -3.0)]
)
def test_a_number_that_no_weather_has_is_refused_by_name(short, value):
    with pytest.raises(Unavailable, match=f"{short} holds a number that no weather has"):
        ours(**{short: value})
