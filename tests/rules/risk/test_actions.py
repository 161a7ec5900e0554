"""What can be done: every row cited, at most three shown, each where it belongs."""

from __future__ import annotations

import itertools

import pytest

from rootbound_rules.errors import RulesError, TableError
from rootbound_rules.risk.actions import (
    MOST,
    action_of,
    actions_for,
    load_actions,
    stage_order,
)

STAGES = ["VE", *(f"V{n}" for n in range(1, 21)), "VT", *(f"R{n}" for n in range(1, 7))]
ROW = {
    "id": "look",
    "rungs": [1],
    "stages": ["V3", "VT"],
    "text": "Look.",
    "why": "It helps.",
    "source": "somebody_2020",
    "tag": "verified",
}


def ids(*facts):
    return [action.id for action in actions_for(*facts)]


def test_stages_follow_the_season():
    order = [stage_order(stage) for stage in ("planted", *STAGES)]

    assert order == sorted(order)
    assert len(set(order)) == len(order)


@pytest.mark.parametrize("stage", ["", "V", "V0", "X3", "R-1", "v6", "Vx"])
def test_a_stage_that_is_none_is_refused(stage):
    with pytest.raises(RulesError, match="is no stage"):
        stage_order(stage)


def test_never_more_than_three_are_shown_for_any_field():
    for rung, stage, held, wet in itertools.product(range(5), STAGES, (True, False), (True, False)):
        assert len(actions_for(rung, stage, held, wet)) <= MOST


def test_every_warned_field_from_emergence_to_black_layer_is_told_something():
    missing = [
        (rung, stage)
        for rung, stage, held in itertools.product((2, 3), STAGES[8:], (True, False))
        if not actions_for(rung, stage, held, False)
    ]
    assert missing == []


def test_water_comes_first_where_the_field_can_be_watered_at_silk():
    assert ids(2, "R1", True, True)[0] == "water_at_silk"
    assert "water_at_silk" not in ids(2, "R1", True, False)


def test_digging_is_advised_where_the_roots_are_the_reason():
    assert "dig_again" in ids(2, "V8", True, False)
    assert "dig_again" not in ids(2, "V8", False, False)
    assert "general_order" in ids(2, "V8", False, False)


def test_nothing_is_advised_at_planting():
    assert ids(1, "planted", True, True) == []


def test_digging_walking_and_watering_carry_a_caution():
    bare = [
        action.id
        for action in load_actions()
        if action.id.startswith(("dig", "eased_dig", "walk", "water")) and not action.caution
    ]
    assert bare == []


def test_no_advice_promises_a_yield():
    words = ("bushel", "bu/ac", "will yield", "guarantee")
    assert [a.id for a in load_actions() if any(w in a.text + a.why for w in words)] == []


@pytest.mark.parametrize("cell", ["id", "rungs", "stages", "text", "why", "source", "tag"])
def test_a_row_without_a_needed_cell_is_refused_by_name(cell):
    with pytest.raises(TableError, match=f"has no {cell}"):
        action_of({key: value for key, value in ROW.items() if key != cell})


@pytest.mark.parametrize(
    ("change", "told"),
    [({"tag": "sure"}, "has tag 'sure'"), ({"stages": ["VT", "V3"]}, "ends")],
)
def test_a_row_that_cannot_be_right_is_refused(change, told):
    with pytest.raises(TableError, match=told):
        action_of(ROW | change)
