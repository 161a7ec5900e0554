"""The dig list against what is published on when to dig and what moist walls need."""

from __future__ import annotations

import numpy as np
import pytest

from rootbound_rules.crop.table import stages_of
from rootbound_rules.risk.dig_window import may_dig_again, window_of
from rootbound_rules.tables import load_table
from rules.season import plausible

STAGES = stages_of(plausible.plain_field())


def state_at(gdd):
    return window_of(np.full((2, 1), gdd), 1, STAGES).state


@pytest.mark.parametrize(
    ("stage", "state"),
    [("V1", "ahead"), ("V2", "open"), ("V3", "open"), ("V4", "open"), ("V5", "open"),
     ("V6", "late"), ("V8", "late")],
)  # fmt: skip
def test_the_window_is_v2_to_v5(stage, state):
    """Nielsen 2020 (Purdue) and the farm press.

    Nodal roots are clearly seen by V2 and settle the stand from V2 to V6: Nielsen. V3 to V4 is
    quoted by extension agronomists (AgriNews, 26 Feb 2021), second-hand. A plant is at a stage
    until the next collar shows.
    """
    begins = STAGES.at_collar(float(stage[1:]))
    for gdd in (begins + 1.0, begins + 40.0, begins + 80.0):
        assert STAGES.name(gdd) == stage
        assert state_at(gdd) == state


def test_the_worked_example_of_785_units_is_v8_and_fit_for_a_second_dig():
    """Nielsen 2014, quoted by Ohio State.

    785 units since planting, 120 of them to emerge,
    are (785 - 120)/82 = V8.1; V6 to V8 is when our second dig is due.
    """
    collars = (785.0 - 120.0) / 82.0

    assert collars == pytest.approx(8.1, abs=0.05)
    assert may_dig_again(collars)
    assert may_dig_again(STAGES.collars(785.0))
    assert state_at(785.0) == "late"


def test_wisconsins_average_v4_falls_into_the_window():
    """Arlington, planted 1 May: V4 on 3 June at 380 units (Lauer, WCM W027)."""
    assert state_at(380.0) == "open"


def test_a_soaking_rain_wets_eight_centimetres_of_loam():
    """Derived in our sheet of compaction.

    From a quarter to all of the available water of 8 cm where field capacity is
    0.305 and the wilting point 0.166 (da Silva & Kay 1997 at 20 % clay, second-hand). No
    source says how much rain softens a wall.
    """
    needed = 0.75 * (0.305 - 0.166) * 80.0

    assert load_table("dig_list").number("rain.soaking_mm") == pytest.approx(needed, abs=0.06)
