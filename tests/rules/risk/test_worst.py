"""A member's own worst rung, against the ladder's reading of an outlook of that member alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_rules.risk.assess import readings_on
from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.risk.worst import worst_rung_shares
from rules.risk.by_hand import DAYS, PLAN, outlook

NIGHTS = 14


def alone(made, member):
    """The outlook of one member, told of twice so that medians are its own."""
    keep = [member, member]
    cubes = ("gdd_f", "rain_mm", "free_stress", "held_stress", "free_water", "held_water", "reach")
    return replace(made, years=(1, 2), **{name: getattr(made, name)[:, keep] for name in cubes})


@settings(max_examples=40)
@given(st.integers(0, 2**32 - 1), st.integers(100, 260), st.floats(0.02, 0.4))
def test_each_member_is_where_the_ladder_puts_it_when_it_is_all_there_is(seed, today, dryness):
    """The ladder read night by night, for one member at a time: an independent way round."""
    rng = np.random.default_rng(seed)
    bad = rng.random((DAYS, 3)) < np.repeat(rng.random((DAYS // 10, 3)), 10, axis=0)
    lost = np.zeros((DAYS, 10), np.float32)
    lost[:, :3] = bad * rng.gamma(2.0, dryness, (DAYS, 3)).clip(0, 1)
    made = outlook(held=lost)
    wanted = np.zeros(5)
    for member in range(10):
        one = alone(made, member)
        nights = range(today, min(today + NIGHTS, DAYS))
        held = (readings_on(one, PLAN.first + timedelta(days=n))[0] for n in nights)
        wanted[max(raw_rung(reading)[0] for reading in held)] += 0.1
    assert np.allclose(worst_rung_shares(made, made.held_stress, today), wanted)


def test_a_night_beyond_the_arrays_finds_every_member_ample():
    made = outlook(held=np.float32(1.0))
    assert worst_rung_shares(made, made.held_stress, DAYS) == (1.0, 0.0, 0.0, 0.0, 0.0)
