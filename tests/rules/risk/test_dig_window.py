"""When to dig: the window by heat units, in days of the outlook."""

from __future__ import annotations

import numpy as np
import pytest

from rootbound_rules.crop.table import stages_of
from rootbound_rules.risk.dig_window import may_dig_again, unknown_window, window_of
from rules.season import plausible

STAGES = stages_of(plausible.plain_field())
A_DAY = 20.0


def heat(until_today, members=5, days=60, a_day=A_DAY):
    """So much heat by the end of day 9, then the same every day; today is day 10."""
    ahead = until_today + a_day * np.arange(1, days - 9)
    one = np.concatenate([np.linspace(0, until_today, 10), ahead])
    return np.repeat(one[:, None], members, axis=1)


def window(until_today, **changes):
    return window_of(heat(until_today, **changes), 10, STAGES)


@pytest.mark.parametrize(
    ("collar", "state"),
    [(0.5, "ahead"), (1.9, "ahead"), (2.0, "open"), (5.9, "open"), (6.0, "late"), (9.9, "late"),
     (10.0, "past"), (14.0, "past")],
)  # fmt: skip
def test_the_state_follows_the_collars_that_show(collar, state):
    told = window(STAGES.at_collar(collar) + 1e-6)

    assert told.state == state
    assert told.collars == pytest.approx(collar, abs=1e-3)


def test_days_count_until_the_heat_is_there():
    opens = STAGES.at_collar(2.0)
    # today brings 20, tomorrow 40, and the day after 60 units: the third day opens it
    assert window(opens - 2.5 * A_DAY).days == 2
    # within today's heat it opens today
    assert window(opens - 0.5 * A_DAY).days == 0


def test_an_open_window_counts_to_its_closing():
    told = window(STAGES.at_collar(6.0) - 3.5 * A_DAY)

    assert (told.state, told.days) == ("open", 3)


def test_days_are_the_median_of_the_members():
    opens = STAGES.at_collar(2.0)
    slow, fast = heat(opens - 35.0, 4, a_day=2.0), heat(opens - 35.0, 6, a_day=20.0)

    assert window_of(np.hstack([slow, fast]), 10, STAGES).days == 1


def test_where_most_members_never_come_to_it_no_day_is_named():
    told = window(STAGES.at_collar(2.0) - 100.0, a_day=0.1)

    assert (told.state, told.days) == ("ahead", None)


def test_a_crop_without_a_published_window_has_none():
    assert window_of(heat(300.0), 10, STAGES, "soybean").state == "none"
    assert unknown_window("soybean").state == "none"
    assert unknown_window("maize").state == "unknown"


@pytest.mark.parametrize(
    ("collars", "may"), [(5.99, False), (6.0, True), (8.99, True), (9.0, False)]
)
def test_a_second_dig_belongs_to_v6_to_v8(collars, may):
    assert may_dig_again(collars) is may
