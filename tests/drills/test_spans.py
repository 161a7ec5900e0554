"""The span of a night, read from what a process says of it, and the moments drawn in it."""

from __future__ import annotations

from random import Random

import pytest

from drills.child import BEGUN, COMPUTED, OVER
from drills.moments import Span, last_span, said_at, span_of

SAID = f"""ready
{BEGUN} 10.500000
2026-07-14 [info] night_done
{COMPUTED} 12.250000
{OVER} 12.750000
"""


def test_a_span_is_that_of_the_last_night_a_process_tells_of():
    earlier = f"{BEGUN} 1.0\n{COMPUTED} 2.0\n{OVER} 9.0\n"

    assert span_of(earlier + SAID) == Span(2.25, 0.5)


def test_only_whole_lines_count_as_said():
    assert said_at(f"the {BEGUN} 3.5\n{BEGUN} 4.5\n{BEGUN} 5.", BEGUN) == [4.5]


def test_a_night_begun_again_after_one_that_was_left_counts_from_its_own_begin():
    left = f"{BEGUN} 1.0\n{COMPUTED} 9.0\n"

    assert span_of(left + SAID + f"{BEGUN} 13.0\n") == Span(2.25, 0.5)


def test_a_text_without_a_whole_night_leaves_the_span_as_it_was():
    assert last_span(f"{BEGUN} 1.0\n", Span(3, 1)) == Span(3, 1)
    assert last_span(SAID, Span(3, 1)) == Span(2.25, 0.5)


def test_a_night_not_brought_to_its_end_has_no_span():
    with pytest.raises(IndexError):
        span_of(f"{BEGUN} 1.0\n{COMPUTED} 2.0\n")


def test_half_of_the_moments_fall_into_the_writing_and_all_into_the_night():
    span, rng = Span(2.25, 0.5), Random(1)

    drawn = [span.moment(rng, number) for number in range(40)]

    assert {one.after for one in drawn[::2]} == {BEGUN}
    assert {one.after for one in drawn[1::2]} == {COMPUTED}
    assert all(0 <= one.seconds <= 2.25 for one in drawn[::2])
    assert all(0 <= one.seconds <= 0.5 for one in drawn[1::2])
    assert [span.moment(Random(1), 0)] == [Span(2.25, 0.5).moment(Random(1), 0)]
