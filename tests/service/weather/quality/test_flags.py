"""What a check found can be said and counted, and it is settled what keeps a value out of use."""

from __future__ import annotations

import numpy as np

from rootbound_service.weather.quality.flags import (
    FLAG_WORDS,
    SUSPECT,
    UNUSABLE,
    Flag,
    counts,
    flag_words,
)


def test_every_flag_is_either_unusable_or_suspect_or_tells_of_a_revision():
    parts = [int(UNUSABLE), int(SUSPECT), int(Flag.REVISED)]

    assert sum(parts) == sum(Flag)
    assert UNUSABLE & SUSPECT == 0


def test_every_flag_has_words_of_its_own():
    assert set(FLAG_WORDS) == set(Flag)
    assert len(set(FLAG_WORDS.values())) == len(Flag)


def test_the_reasons_of_a_value_are_said_together():
    assert flag_words(Flag.LIMIT | Flag.RADIATION) == (
        "outside what is possible, not possible for the sky of that day"
    )
    assert flag_words(0) == ""


def test_counting_names_only_the_checks_that_marked_something():
    flags = np.array([[[0, 1, 1 | 64, 64, 0]]], np.uint16)

    assert counts(flags) == {"limit": 2, "rain_outlier": 2}
