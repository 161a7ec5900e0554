"""What a count of roots says, and how little of it a small count says."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.crop.dig import crossed_share
from rootbound_rules.errors import RulesError

SOME = settings(deadline=None, derandomize=True)
COUNTS = st.integers(0, 200)


@SOME
@given(COUNTS, COUNTS)
def test_the_mean_lies_within_the_middle_of_the_posterior(crossing, held):
    low, high = (crossed_share(crossing, held, q) for q in (0.001, 0.999))

    assert 0.0 <= low <= crossed_share(crossing, held) <= high <= 1.0


@SOME
@given(COUNTS, COUNTS, st.floats(0.02, 0.98))
def test_crossing_and_held_are_mirror_images(crossing, held, q):
    mirror = 1.0 - crossed_share(held, crossing, 1.0 - q)

    assert crossed_share(crossing, held, q) == pytest.approx(mirror, abs=1e-7)


@pytest.mark.parametrize(
    ("crossing", "held", "mean"), [(0, 0, 0.5), (3, 7, 3.5 / 11.0), (10, 0, 10.5 / 11.0)]
)
def test_the_mean_counts_half_a_root_more_on_either_side(crossing, held, mean):
    assert crossed_share(crossing, held) == pytest.approx(mean)


def test_more_plants_dug_narrow_the_range():
    widths = [
        crossed_share(3 * n, 7 * n, 0.95) - crossed_share(3 * n, 7 * n, 0.05) for n in (1, 3, 9)
    ]

    assert widths == sorted(widths, reverse=True)
    assert widths[2] < 0.5 * widths[0]


def test_not_one_root_across_still_leaves_some_chance():
    assert 0.0 < crossed_share(0, 20) < 0.05
    assert crossed_share(0, 20, 0.99) > 0.1


@pytest.mark.parametrize(("crossing", "held"), [(-1, 4), (4, -1)])
def test_a_negative_count_is_refused_with_what_was_given(crossing, held):
    with pytest.raises(RulesError, match=f"{crossing} crossing, {held} held"):
        crossed_share(crossing, held)
