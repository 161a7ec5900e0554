"""What a file calls a field, as clean text."""

from __future__ import annotations

import pytest

from rootbound_service.intake.shapes.names import clean, clean_properties, name_of
from rootbound_service.intake.shapes.outlines import Drawn


def test_a_name_is_one_line_that_hides_nothing() -> None:
    # An escape, a line of its own, a turn of the reading direction and a half of a letter.
    assert clean("  North\x1b[2J\nForty\u2028\u202e \ud800", 80) == "North [2J Forty"
    assert clean("x" * 1_000_000, 80) == "x" * 80


@pytest.mark.parametrize("key", ["name", "NAME", "Field_Name", "Label", "field"])
def test_a_property_that_is_called_like_a_name_is_the_name(key) -> None:
    assert name_of(Drawn([], properties={"soil": "loam", key: "West"})) == "West"
    assert name_of(Drawn([], properties={key: "West"}, name="Own")) == "Own"
    assert not name_of(Drawn([], properties={"soil": "loam"}))


def test_only_plain_properties_are_kept_and_not_too_many() -> None:
    pairs = [("a", [1]), ("b", None), ("", "x"), ("c", 1.5), *((f"k{n}", "v") for n in range(99))]
    kept = clean_properties(pairs)
    assert len(kept) == 50
    assert kept["c"] == "1.5"
    assert not {"a", "b", ""} & set(kept)
