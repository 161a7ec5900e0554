"""Held rung beside free rung: what every pair of them means."""

from __future__ import annotations

import pytest

from rootbound_rules.risk.cause import Cause, cause_of


@pytest.mark.parametrize(
    ("rung", "free", "cause"),
    [
        (0, 0, Cause.NONE),
        (1, 0, Cause.ROOTS),
        (4, 0, Cause.ROOTS),
        (2, 1, Cause.BOTH),
        (4, 3, Cause.BOTH),
        (1, 1, Cause.GENERAL),
        (4, 4, Cause.GENERAL),
        (0, 1, Cause.NOT_ROOTS),
        (2, 3, Cause.NOT_ROOTS),
    ],
)
def test_a_pair_of_rungs_has_its_cause(rung, free, cause):
    assert cause_of(rung, free) is cause


def test_roots_are_named_wherever_the_held_rung_is_higher_and_nowhere_else():
    for rung in range(5):
        for free in range(5):
            named = cause_of(rung, free) in {Cause.ROOTS, Cause.BOTH}
            assert named == (rung > free)


def test_free_roots_with_half_of_the_same_stress_make_the_drought_general_too():
    assert cause_of(3, 0, held_past=0.8, free_past=0.4) is Cause.BOTH
    assert cause_of(3, 0, held_past=0.8, free_past=0.39) is Cause.ROOTS
    assert cause_of(2, 0, held_past=0.8, free_past=0.8) is Cause.ROOTS  # rests on what may come
