"""How deep and wide roots stand: bounds, and reach that is whole where nothing holds them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.crop.roots import free_half_width, front_rate, reach, slab_half_width

SOME = settings(deadline=None, derandomize=True)
FRONT = (0.0062, 0.0312, 5.0, 18.0)
COLLARS = st.floats(0.0, 18.0)


@pytest.mark.parametrize(
    ("collar", "emerged", "rate"),
    [
        (0.0, 0.0, 0.0),
        (0.0, 1.0, 0.0062),
        (4.99, 1.0, 0.0062),
        (5.0, 1.0, 0.0312),
        (17.99, 1.0, 0.0312),
        (18.0, 1.0, 0.0),
    ],
)
def test_roots_deepen_slowly_then_fast_then_stop(collar, emerged, rate):
    assert front_rate(collar, *FRONT, emerged) == rate


@pytest.mark.parametrize(
    ("collar", "width"), [(0.0, 4.0), (2.0, 4.0), (6.0, 21.0), (10.0, 38.0), (18.0, 38.0)]
)
def test_free_roots_widen_from_the_slot_to_the_middle_of_the_row(collar, width):
    assert free_half_width(collar, 4.0, 38.0, 2.0, 10.0) == pytest.approx(width)


def test_a_slot_as_wide_as_the_row_widens_no_further():
    assert free_half_width(10.0, 20.0, 19.0, 2.0, 10.0) == 20.0


@SOME
@given(COLLARS, st.floats(2.0, 6.0), st.floats(0.05, 0.30), st.floats(0.05, 1.5))
def test_held_roots_are_never_wider_than_free_ones(collar, slot, widening, depth):
    free = free_half_width(collar, slot, 38.0, 2.0, 10.0)

    assert 0.0 < slab_half_width(free, slot, widening, depth, 5.0) <= free


def test_the_slab_widens_below_the_seed_only():
    assert slab_half_width(38.0, 4.0, 0.10, 0.05, 5.0) == 4.0
    assert slab_half_width(38.0, 4.0, 0.10, 0.45, 5.0) == pytest.approx(6.0)


@SOME
@given(COLLARS, st.floats(2.0, 6.0), st.floats(0.0, 1.0), st.floats(0.05, 1.5))
def test_reach_is_the_width_of_held_over_free_roots(collar, slot, crossed, depth):
    free = free_half_width(collar, slot, 38.0, 2.0, 10.0)
    slab = slab_half_width(free, slot, 0.10, depth, 5.0)

    assert reach(free, slab, crossed) == pytest.approx((slab + crossed * (free - slab)) / free)


@SOME
@given(st.floats(1.0, 60.0), st.floats(0.1, 1.0))
def test_where_every_axis_crossed_reach_is_exactly_one(free, share):
    assert reach(free, share * free, 1.0) == 1.0
