"""Depths of water and days, in the reader's units and order."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_service.notes import units
from rootbound_service.notes.en import quantities


@pytest.mark.parametrize(
    ("mm", "us", "metric"),
    [
        # the inch is 25.4 mm by definition (ISO 31-1)
        (25.4, "1.0 in", "25 mm"),
        (10.2, "0.4 in", "10 mm"),
        (0.0, "0.0 in", "0 mm"),
        # below the stress line there is no water in reach, not a debt
        (-3.0, "0.0 in", "0 mm"),
    ],
)
def test_water_is_told_in_inches_or_millimetres(mm, us, metric):
    assert (units.water(mm, "us"), units.water(mm, "metric")) == (us, metric)


def test_what_rounds_to_nothing_is_called_nothing():
    assert quantities.in_reach(0.9, "us") == "no water left in reach"
    assert quantities.in_reach(0.9, "metric") == "1 mm of water in reach"


def test_days_come_in_the_order_the_reader_expects():
    when = date(2025, 7, 4)
    assert (quantities.day(when, "us"), quantities.day(when, "metric")) == ("July 4", "4 July")


def test_lengths_in_advice_follow_the_reader():
    text = "about [190 mm] of water"
    assert units.localise(text, "us") == "about 7.5 in of water"
    assert units.localise(text, "metric") == "about 190 mm of water"


def test_one_is_not_plural():
    assert (quantities.count(1, "day"), quantities.count(2, "day")) == ("1 day", "2 days")
