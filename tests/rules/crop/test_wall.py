"""The furrow wall in wet and dry soil."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.crop.wall import (
    crossing_share,
    drying_exponent,
    elongation,
    late_crossing,
    relative_strength,
    top_layer_water,
)
from rootbound_rules.tables import load_table

SOME = settings(deadline=None, derandomize=True)
CLASSES = load_table("wall").numbers("wall.resistance_mpa")
WATERS = st.floats(0.0, 1.0)
EXPONENTS = st.floats(-6.0, -0.01)
HALVING = 1.26


@SOME
@given(st.floats(0.0, 60.0), st.floats(0.0, 5.0))
def test_soil_always_hardens_as_it_dries_whatever_clay_and_carbon(clay, carbon):
    assert drying_exponent(clay, carbon) < 0.0


def test_clay_and_carbon_pull_the_exponent_their_own_ways():
    assert drying_exponent(30.0, 2.0) < drying_exponent(10.0, 2.0)
    assert drying_exponent(20.0, 3.0) > drying_exponent(20.0, 1.0)


@SOME
@given(WATERS, st.floats(0.2, 0.8), EXPONENTS)
def test_strength_is_one_at_field_capacity_and_more_when_drier(water, wilting_share, exponent):
    here = relative_strength(water, wilting_share, exponent)

    assert relative_strength(1.0, wilting_share, exponent) == pytest.approx(1.0)
    assert here >= 1.0 - 1e-12
    assert here <= relative_strength(0.0, wilting_share, exponent) + 1e-9


def test_elongation_halves_at_the_halving_resistance_and_is_never_nil():
    assert elongation(0.0, HALVING) == 1.0
    assert elongation(HALVING, HALVING) == pytest.approx(0.5)
    assert elongation(12.0, HALVING) > 0.0


@pytest.mark.parametrize("water", [0.0, 0.25, 0.5, 1.0])
def test_a_harder_class_lets_fewer_axes_through_in_any_water(water):
    strength = relative_strength(water, 0.546, -2.54)
    shares = [crossing_share(strength, wall, CLASSES[0], HALVING) for wall in CLASSES]

    assert shares[0] == 1.0  # a wall that crumbles takes nothing
    assert shares == sorted(shares, reverse=True)
    assert len(set(shares)) == len(CLASSES)  # no clip makes dry classes alike


@SOME
@given(WATERS, WATERS, st.sampled_from(CLASSES[1:]))
def test_a_wetter_wall_lets_no_fewer_axes_through(one, other, wall):
    dry, wet = sorted((one, other))
    through = [
        crossing_share(relative_strength(w, 0.5, -2.5), wall, CLASSES[0], HALVING)
        for w in (dry, wet)
    ]

    assert through[0] <= through[1] + 1e-12


@SOME
@given(WATERS, st.sampled_from(CLASSES), st.floats(0.0, 0.5))
def test_late_crossing_is_a_share(water, wall, rate):
    strength = relative_strength(water, 0.5, -2.5)

    assert 0.0 <= late_crossing(strength, wall, CLASSES[0], HALVING, rate) <= 1.0


def test_a_trapped_axis_crosses_a_moist_wall_that_crumbles_at_the_rate_of_the_table():
    assert late_crossing(1.0, 0.7, 0.7, HALVING, 0.15) == pytest.approx(0.15)
    assert late_crossing(3.0, 2.1, 0.7, HALVING, 0.15) < 0.01
    assert late_crossing(1.0, 1.4, 0.7, HALVING, 0.0) == 0.0


@pytest.mark.parametrize(
    ("depletion", "water"), [(0.0, 1.0), (10.0, 0.5), (20.0, 0.0), (25.0, 0.0)]
)
def test_the_wall_is_as_wet_as_the_top_layer(depletion, water):
    assert top_layer_water(depletion, 20.0) == water
