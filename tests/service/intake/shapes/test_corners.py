"""Corners drawn on the page."""

from __future__ import annotations

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.shapes import from_corners

DRAWN = "-93.62,42.03 -93.615,42.03 -93.615,42.034 -93.62,42.034"


def test_corners_are_closed_and_wound_either_way_round() -> None:
    one, other = from_corners(DRAWN), from_corners(" ".join(DRAWN.split()[::-1]))
    assert one.rings[0][0] == one.rings[0][-1]
    assert set(one.rings[0]) == set(other.rings[0])
    assert one.area_ha == other.area_ha > 18.0
    assert one.name == ""


def test_a_first_corner_drawn_again_changes_nothing() -> None:
    assert from_corners(DRAWN + " -93.62,42.03") == from_corners(DRAWN)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "fewer than three"),
        ("-93.62,42.03 -93.61,42.03 -93.62,42.03", "fewer than three"),
        ("-93.62;42.03 -93.61,42.03 -93.6,42.0", "is not a pair of numbers"),
        ("-93.62,42.03,0 -93.61,42.03 -93.6,42.0", "is not a pair of numbers"),
        ("nan,42.03 -93.61,42.03 -93.6,42.0", "a corner is not a number"),
        ("-93.62,inf -93.61,42.03 -93.6,42.0", "a corner is not a number"),
        ("42.03,-93.62 42.03,-93.61 42.04,-93.61", "look swapped"),
        ("-93.62,42.03 " * 401, "fewer than three"),
        (DRAWN + " -93.62,42.033" * 400, "are 404"),
        ("1" * 1_000_000, "are too many"),
    ],
)
def test_what_is_no_outline_is_refused(text, says) -> None:
    with pytest.raises(RefusedInput) as caught:
        from_corners(text)
    assert says in str(caught.value)
