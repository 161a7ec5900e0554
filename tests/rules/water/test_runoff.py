"""Runoff: what rain can and cannot do."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.water.runoff import (
    dry_curve_number,
    retention_mm,
    runoff,
    todays_storage,
    wet_curve_number,
)

SOME = settings(deadline=None, derandomize=True)
RAINS = st.floats(0.0, 300.0)
NUMBERS = st.floats(40.0, 98.0)


@SOME
@given(RAINS, NUMBERS)
def test_no_more_runs_off_than_rained(rain, number):
    assert 0.0 <= runoff(rain, retention_mm(number)) <= rain


@SOME
@given(NUMBERS)
def test_the_first_fifth_of_the_storage_runs_nowhere(number):
    storage = retention_mm(number)

    assert runoff(0.2 * storage, storage) == 0.0
    assert runoff(0.2 * storage + 5.0, storage) > 0.0


@SOME
@given(RAINS, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_wetter_top_layer_sheds_at_least_as_much(rain, one, other):
    dry, wet = (runoff(rain, todays_storage(share, 60.0, 90.0)) for share in sorted((one, other)))

    assert wet >= dry - 1e-9


@SOME
@given(NUMBERS)
def test_dry_average_and_wet_numbers_keep_their_order(average):
    assert dry_curve_number(average) < average < wet_curve_number(average) <= 100.0


def test_a_paved_field_sheds_all_of_it():
    assert runoff(30.0, retention_mm(100.0)) == pytest.approx(30.0)
