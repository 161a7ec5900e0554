"""Heat units of a day: between nothing and the most a day can give."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.crop.heat import corn_heat_units, fahrenheit, gdd_f

SOME = settings(deadline=None, derandomize=True)
TEMPERATURES = st.floats(-30.0, 50.0)


@SOME
@given(TEMPERATURES, st.floats(0.0, 25.0))
def test_a_day_gives_between_none_and_36(tmin, spread):
    assert -1e-12 <= gdd_f(tmin + spread, tmin, 50.0, 86.0) <= 36.0 + 1e-12


@SOME
@given(TEMPERATURES, st.floats(0.0, 25.0), st.floats(0.0, 5.0))
def test_a_warmer_day_never_gives_less(tmin, spread, warmer):
    day = gdd_f(tmin + spread, tmin, 50.0, 86.0)

    assert gdd_f(tmin + spread + warmer, tmin + warmer, 50.0, 86.0) >= day - 1e-12


def test_a_cold_night_does_not_take_from_a_warm_day():
    assert gdd_f(22.0, 10.0, 50.0, 86.0) == gdd_f(22.0, -5.0, 50.0, 86.0)


def test_heat_above_the_ceiling_adds_nothing():
    assert gdd_f(30.0, 20.0, 50.0, 86.0) == gdd_f(41.0, 20.0, 50.0, 86.0)


def test_another_crop_has_other_limits():
    assert gdd_f(36.0, 20.0, 50.0, 100.0) > gdd_f(36.0, 20.0, 50.0, 86.0)


@pytest.mark.parametrize(("celsius", "wanted"), [(-40.0, -40.0), (0.0, 32.0), (30.0, 86.0)])
def test_celsius_becomes_fahrenheit(celsius, wanted):
    assert fahrenheit(celsius) == pytest.approx(wanted)


@SOME
@given(TEMPERATURES, st.floats(0.0, 25.0))
def test_corn_heat_units_are_never_negative(tmin, spread):
    assert corn_heat_units(tmin + spread, tmin) >= 0.0


def test_the_day_half_of_corn_heat_units_peaks_near_30_degrees():
    halves = {t: corn_heat_units(t, -40.0) for t in (25.0, 29.8, 35.0)}

    assert max(halves, key=halves.get) == 29.8
