"""How many members it takes, as the ladder itself says it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rootbound_rules.risk.hold_need import members_needed
from rootbound_rules.risk.ladder import Reading, raw_rung
from rootbound_rules.risk.windows import CHANCES, windows

GROWN = Reading(0.0, 0.0, 0.0, 0.0, 15.0, past_r4=False, critical=False)
YOUNG = replace(GROWN, collars=6.0)


@pytest.mark.parametrize("members", [10, 29, 30, 32, 51])
@pytest.mark.parametrize("critical", [False, True])
def test_one_member_less_than_needed_is_not_yet_the_rung(members, critical):
    reading = replace(GROWN, critical=critical)
    for c, (needed, chance) in enumerate(
        zip(members_needed(reading, members)[1], CHANCES, strict=True)
    ):
        assert raw_rung(replace(reading, **{chance: needed / members}))[0] == c + 1
        assert raw_rung(replace(reading, **{chance: (needed - 1) / members}))[0] < c + 1


def test_a_stage_that_rules_a_rung_out_cannot_be_reached_by_any_members():
    assert (members_needed(YOUNG, 30)[:, 2:] == 31).all()
    assert (members_needed(replace(GROWN, past_r4=True), 30)[:, 3] == 31).all()
    assert (members_needed(GROWN, 30) <= 30).all()


def test_the_range_lies_on_either_side_of_the_ladders_own_share():
    low, own, high = members_needed(GROWN, 30)
    assert (low[0], own[0], high[0]) == (24, 15, 6)
    assert (low >= own).all()
    assert (own >= high).all()


def test_windows_of_what_comes_are_above_zero_and_of_what_is_past_below():
    spans, marks = windows()
    assert spans.tolist() == [14, 7, -3, -7]
    assert marks.tolist() == [1.0, 1.0, 0.45, 2.5]
