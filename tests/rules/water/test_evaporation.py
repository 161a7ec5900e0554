"""Evaporation from the top layer: two stages, and limits that hold."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water.evaporation import (
    evaporation_coefficient,
    reduction,
    top_layer,
    total_evaporable,
)

SOME = settings(deadline=None, derandomize=True)
TEW, REW = 20.0, 9.0
DEPLETIONS = st.floats(0.0, TEW)


def test_a_wet_layer_evaporates_fully_until_its_readily_evaporable_water_is_gone():
    assert reduction(0.0, TEW, REW) == 1.0
    assert reduction(REW, TEW, REW) == 1.0
    assert reduction(0.5 * (TEW + REW), TEW, REW) == pytest.approx(0.5)
    assert reduction(TEW, TEW, REW) == 0.0


@SOME
@given(DEPLETIONS, st.floats(0.1, 1.3), st.floats(0.01, 1.0))
def test_soil_and_crop_together_never_pass_the_upper_limit(depletion, kcb, few):
    kcmax = max(1.2, kcb + 0.05)

    ke = evaporation_coefficient(reduction(depletion, TEW, REW), kcmax, kcb, few)

    assert 0.0 <= ke <= few * kcmax
    assert kcb + ke <= kcmax + 1e-12


@SOME
@given(DEPLETIONS, st.floats(0.0, 80.0), st.floats(0.0, 8.0), st.floats(0.01, 1.0))
def test_the_layer_is_never_wetter_than_full_nor_drier_than_empty(de, water, evaporation, few):
    assert 0.0 <= top_layer(de, water, evaporation, few, TEW) <= TEW


@SOME
@given(DEPLETIONS, st.floats(0.0, 80.0), st.floats(0.0, 40.0))
def test_more_rain_never_leaves_a_drier_layer(depletion, water, more):
    less, wetter = (top_layer(depletion, w, 3.0, 0.5, TEW) for w in (water, water + more))

    assert wetter <= less


def test_rain_enters_before_the_days_evaporation_is_taken():
    assert top_layer(12.0, 30.0, 4.0, 1.0, TEW) == 4.0  # not 0: the excess has drained


def test_half_of_the_water_at_the_wilting_point_can_evaporate_as_well():
    assert total_evaporable(0.30, 0.14, 0.10) == pytest.approx(23.0)
