"""Collars, axes and emergence along heat units."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.crop.stages import (
    axes_out,
    collars,
    emergence_gdd,
    gdd_at_collar,
    late_planting_r6,
)

SOME = settings(deadline=None, derandomize=True)
RATES = (82.0, 50.0, 10.0)
POINTS = (1.0, 2.0, 6.0, 10.0, 0.12, 0.75)


@pytest.mark.parametrize(
    ("gdd", "shown"),
    [(0.0, 0.0), (115.0, 0.0), (197.0, 1.0), (935.0, 10.0), (985.0, 11.0), (4000.0, 18.0)],
)
def test_collars_come_every_82_and_after_the_tenth_every_50(gdd, shown):
    assert collars(gdd, 115.0, *RATES, 18.0) == pytest.approx(shown)


@SOME
@given(st.floats(0.0, 18.0), st.floats(80.0, 200.0))
def test_heat_units_at_a_collar_read_the_collars_backwards(collar, emergence):
    gdd = gdd_at_collar(collar, emergence, *RATES)

    assert collars(gdd, emergence, *RATES, 18.0) == pytest.approx(collar, abs=1e-9)


@SOME
@given(st.floats(0.0, 3000.0), st.floats(0.0, 100.0))
def test_collars_never_go_back(gdd, more):
    assert collars(gdd + more, 115.0, *RATES, 18.0) >= collars(gdd, 115.0, *RATES, 18.0)


@pytest.mark.parametrize(
    ("collar", "share"),
    [(0.0, 0.0), (1.0, 0.0), (2.0, 0.12), (4.0, 0.435), (6.0, 0.75), (10.0, 1.0), (18.0, 1.0)],
)
def test_axes_come_out_straight_between_the_points_of_the_table(collar, share):
    assert axes_out(collar, *POINTS) == pytest.approx(share)


@SOME
@given(st.floats(0.0, 18.0), st.floats(0.0, 2.0))
def test_an_axis_put_out_is_never_taken_back(collar, more):
    assert axes_out(collar + more, *POINTS) >= axes_out(collar, *POINTS) - 1e-12


@pytest.mark.parametrize(
    ("depth_cm", "extra", "wanted"),
    [(2.5, 0.0, 115.0), (5.08, 0.0, 115.0), (7.62, 0.0, 130.0), (7.62, 30.0, 160.0)],
)
def test_a_seed_below_two_inches_takes_longer_to_emerge(depth_cm, extra, wanted):
    assert emergence_gdd(115.0, depth_cm, 15.0, 2.0, extra) == pytest.approx(wanted)


def test_early_planting_changes_nothing_and_late_planting_cuts():
    assert late_planting_r6(2700.0, -20, 6.8) == 2700.0
    assert late_planting_r6(2700.0, 10, 6.8) == pytest.approx(2632.0)
