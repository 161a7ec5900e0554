"""Soil water from texture: an order that no texture may break."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rootbound_rules.water.retention import LEAST_AIR, retention, retention_slope

SOME = settings(deadline=None, derandomize=True)


@SOME
@given(st.floats(3.0, 58.0), st.floats(0.0, 95.0), st.floats(0.5, 6.0), st.floats(0.9, 1.3))
def test_wilting_point_field_capacity_and_saturation_keep_their_order(clay, sand, om, factor):
    assume(clay + sand <= 97.0)
    curve = retention(sand, clay, om, factor)

    assert 0.0 < curve.wilting_point < curve.field_capacity
    assert curve.field_capacity + LEAST_AIR <= curve.saturation + 1e-12
    assert curve.conductivity_mm_h > 0.0
    assert curve.air_entry_kpa >= 0.0
    assert 0.0 < curve.pore_index < 1.0


def test_the_retention_curve_passes_through_both_of_its_ends():
    """Saxton & Rawls 2006, Eqs. 11, 14, 15: 33 kPa at field capacity, 1500 at wilting."""
    slope = retention_slope(0.28, 0.14)

    assert 33.0 * (0.28 / 0.14) ** slope == pytest.approx(1500.0)


def test_organic_matter_holds_more_water():
    poor, rich = retention(40.0, 20.0, 1.0), retention(40.0, 20.0, 5.0)

    assert rich.field_capacity > poor.field_capacity
    assert rich.density < poor.density


def test_pressing_takes_pores_and_conductivity_and_leaves_the_wilting_point():
    loose, pressed = retention(40.0, 20.0, 2.5), retention(40.0, 20.0, 2.5, 1.2)

    assert pressed.saturation < loose.saturation
    assert pressed.conductivity_mm_h < 0.5 * loose.conductivity_mm_h
    assert pressed.wilting_point == loose.wilting_point
