"""Water that rises from a shallow table, and the table that falls for it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water.soil import soil_from_texture
from rootbound_rules.water.water_table import (
    capillary_rise,
    deepest_root,
    steady_rise_factors,
    table_depth,
)

SOME = settings(deadline=None, derandomize=True)
MOST, FARTHEST = 2.0, 1.0


def loam() -> tuple[float, float]:
    soil = soil_from_texture("loam")
    return steady_rise_factors(soil.conductivity_mm_d, soil.pore_index, soil.air_entry_cm)


def test_steady_rise_with_the_square_law_is_gardners():
    """Gardner 1958 for K = a / psi^2: the most that can rise is a pi^2 / (4 z^2)."""
    factor, n = steady_rise_factors(10.0, 0.0, 30.0)  # lambda 0: n = 2

    assert n == 2.0
    assert factor == pytest.approx(10.0 * 0.3**2 * math.pi**2 / 4.0)


def test_steady_rise_with_the_cubic_law_is_the_numeric_integral():
    """Z = integral of dpsi / (1 + q/K) from 0 to a dry surface, for K = Ks (h/psi)^n."""
    ks, h, q = 8.0, 0.25, 1.5
    factor, n = steady_rise_factors(ks, 1.0 / 3.0, 100.0 * h)
    steps = [10 ** (-4 + 0.001 * k) for k in range(9001)]
    heights = [1.0 / (1.0 + q / (ks * (h / psi) ** n)) for psi in steps]
    z = steps[0] + sum(
        0.5 * (heights[k] + heights[k + 1]) * (steps[k + 1] - steps[k])
        for k in range(len(steps) - 1)
    )

    assert n == pytest.approx(3.0)
    assert factor * z**-n == pytest.approx(q, rel=1e-3)


@SOME
@given(st.floats(-0.5, 3.0), st.floats(0.0, 0.5))
def test_less_rises_from_farther_and_never_more_than_the_most(distance, farther):
    near = capillary_rise(distance, *loam(), MOST, FARTHEST)
    far = capillary_rise(distance + farther, *loam(), MOST, FARTHEST)

    assert 0.0 <= far <= near <= MOST


def test_nothing_rises_from_a_metre_and_more():
    assert capillary_rise(0.99, *loam(), MOST, FARTHEST) > 0.0
    assert capillary_rise(1.0, *loam(), MOST, FARTHEST) == 0.0
    assert capillary_rise(1e3, *loam(), MOST, FARTHEST) == 0.0


def test_the_table_falls_by_what_rises_and_fills_by_what_percolates():
    assert table_depth(1.2, 1.6, 0.0, 80.0, 1.2, 0.9) == pytest.approx(1.22)
    assert table_depth(1.22, 0.0, 1.6, 80.0, 1.2, 0.9) == pytest.approx(1.2)


def test_a_table_over_its_drains_goes_back_to_them_by_a_share_of_its_height_a_day():
    left, depth = math.exp(-1 / 10), 0.6
    heights = []
    for _ in range(30):
        depth = table_depth(depth, 0.0, 0.0, 80.0, 1.2, left)
        heights.append(1.2 - depth)

    assert heights == pytest.approx([0.6 * math.exp(-day / 10) for day in range(1, 31)])


def test_water_that_would_stand_above_the_ground_runs_off():
    assert table_depth(0.2, 0.0, 400.0, 80.0, 1.2, 1.0) == 0.0


def test_roots_grow_to_the_soils_depth_or_to_a_higher_table():
    assert deepest_root(1.5, 1e3) == 1.5
    assert deepest_root(1.5, 0.8) == 0.8
