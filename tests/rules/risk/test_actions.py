"""What is advised: at most three rows of different kinds, each only where it belongs."""

from __future__ import annotations

import itertools
from collections import Counter
from functools import cache

import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.action_rows import load_actions, root_cause
from rootbound_rules.risk.actions import MOST, MOST_OF_ONE_KIND, actions_for
from rules.risk.situations import situations, stages_of

CROPS = ("maize", "soybean", "sorghum")


@cache
def everything(crop="maize"):
    """What is advised in every situation: (arguments, actions)."""
    return [(facts, named, actions_for(*facts, **named)) for facts, named in situations(crop)]


def ids(*facts, **named):
    return [action.id for action in actions_for(*facts, **named)]


@pytest.mark.parametrize("crop", CROPS)
def test_never_more_than_three_are_shown_and_never_two_of_a_kind_unless_all_are(crop):
    for facts, named, actions in everything(crop):
        kinds = Counter(action.kind for action in actions)
        assert len(actions) <= MOST, (facts, named)
        if len(kinds) > 1:
            assert max(kinds.values()) == 1, (facts, named)
        else:
            assert sum(kinds.values()) <= MOST_OF_ONE_KIND, (facts, named)


def test_every_row_is_shown_somewhere():
    shown = {a.id for crop in CROPS for _, _, actions in everything(crop) for a in actions}
    assert [action.id for action in load_actions() if action.id not in shown] == []


def test_no_crop_is_told_what_only_another_ones_sources_say():
    for crop in CROPS:
        for _, _, actions in everything(crop):
            assert all(crop in action.crops for action in actions)
    maize = {a.id for _, _, actions in everything("maize") for a in actions}
    for crop in ("soybean", "sorghum"):
        other = {a.id for _, _, actions in everything(crop) for a in actions}
        assert other
        assert not other & maize


def test_every_warned_field_from_v8_to_black_layer_is_told_something():
    missing = [
        (rung, stage)
        for rung, stage, held in itertools.product((2, 3), stages_of()[9:], (True, False))
        if not actions_for(rung, stage, held, irrigated=False)
    ]
    assert missing == []


@pytest.mark.parametrize("status", ["unknown", "waiting", "no such word"])
def test_nothing_is_advised_where_nobody_knows_how_the_field_stands(status):
    for stage, eased in itertools.product(stages_of(), (True, False)):
        assert ids(None, stage, True, True, cause="wall", eased=eased, status=status) == []


def test_nothing_is_advised_at_planting_or_for_an_ample_field_in_summer():
    assert ids(1, "planted", True, True) == []
    for stage in stages_of()[:23]:
        assert ids(0, stage, False, True) == [], stage


@pytest.mark.parametrize("status", ["watched", "unknown"])
def test_a_cause_that_is_none_is_refused(status):
    with pytest.raises(RulesError, match="'general' is no cause: wall, pan"):
        actions_for(0, "V3", False, False, cause="general", status=status)


def test_a_stage_or_crop_that_is_none_is_refused():
    with pytest.raises(RulesError, match="is no stage of maize"):
        actions_for(1, "GPD", held_is_reason=True, irrigated=False)
    assert ids(1, "GPD", True, True, crop="sorghum") == ["sorghum_water_head"]


def test_water_comes_first_where_the_field_can_be_watered_and_never_elsewhere():
    assert ids(2, "R1", True, True)[0] == "water_at_silk"
    for facts, named, actions in everything():
        kinds = [action.kind for action in actions]
        assert facts[3] or "water" not in kinds, (facts, named)


@pytest.mark.parametrize(
    ("stage", "told"),
    [("V12", "water_before_silk"), ("V14", "water_at_silk"), ("R3", "water_at_silk"),
     ("R4", "water_at_fill"), ("R5", "water_at_fill"), ("R6", "water_no_more")],
)  # fmt: skip
def test_the_silk_window_is_watered_sooner_and_the_crop_to_black_layer(stage, told):
    assert told in ids(2, stage, True, True)


def test_roots_are_dug_for_where_they_are_the_reason_and_by_what_was_found():
    assert "dig_again" in ids(2, "V9", True, False, cause="wall")
    assert "dig_pan" in ids(2, "V9", True, False, cause="pan")
    assert "dig_again" in ids(2, "V9", True, False, cause="wall_and_pan")
    assert "dig_whatever" in ids(2, "V9", True, False)
    assert "walk_early" in ids(2, "V9", False, False, cause="wall")


def test_a_general_drought_is_ranked_by_stage_whatever_the_dig_found():
    assert "general_order" in ids(2, "V9", False, False, cause="wall")
    assert ids(2, "V9", True, False, cause="drought") == ids(2, "V9", False, False)
    for facts, named, actions in everything():
        blamed = facts[2] and named["cause"] != "drought"
        assert blamed or not any(action.held for action in actions), (facts, named)
        assert not blamed or all(action.held is not False for action in actions), (facts, named)


def test_a_wall_is_never_spoken_of_where_only_a_pan_was_found_or_nothing_is_known():
    for facts, named, actions in everything():
        needed = {cause for action in actions for cause in action.found}
        if named["cause"] in (None, "roots", "drought"):
            assert not needed, (facts, named)
        elif named["cause"] != "wall_and_pan":
            assert needed <= {named["cause"]}, (facts, named)


def test_sidedressing_comes_up_from_v5_to_v8_in_a_dry_field_only():
    shown = {
        facts[:2]
        for facts, _, actions in everything()
        if any(action.id.startswith("sidedress") for action in actions)
    }
    assert {stage for _, stage in shown} == {"V5", "V6", "V7", "V8"}
    assert {rung for rung, _ in shown} == {1, 2, 3, 4}


def test_the_plant_part_to_sample_follows_the_stage():
    fed = {stage: " ".join(ids(1, stage, True, False)) for stage in ("V3", "V10", "VT", "R1")}
    assert "whole_plants" in fed["V3"]
    assert "collared_leaf" in fed["V10"]
    assert "collared_leaf" in fed["VT"]
    assert "ear_leaf" in fed["R1"]


def test_an_eased_field_hears_what_the_rain_is_good_for_and_not_to_water_at_once():
    told = ids(0, "V9", False, True, cause="wall", eased=True)
    assert told == ["eased_dig", "eased_hold_water", "eased_potash"]
    assert ids(0, "V9", False, True, cause="wall") == []
    assert "eased_silage" in ids(2, "R4", False, False, eased=True)


def test_an_eased_field_that_is_still_tight_is_not_told_to_stop_watering():
    told = ids(2, "R1", True, True, eased=True)
    assert "water_at_silk" in told
    assert "eased_hold_water" not in told


def test_an_unrated_field_is_told_to_dig_and_nothing_of_its_roots():
    told = ids(None, "V6", False, False, status="unrated")
    assert told[0] == "unrated_dig"
    assert "unrated_dig" in ids(2, "V6", False, True, status="unrated")
    for _, named, actions in everything():
        if named["status"] == "unrated":
            assert all(not action.held and not action.found for action in actions)


def test_a_field_that_grew_free_is_told_to_look_once_more_and_ranked_with_the_others():
    told = ids(0, "V9", False, False, cause="wall", status="grown_free")
    assert told == ["free_check", "free_like_others"]


def test_a_finished_field_is_told_of_stalks_and_of_the_next_planting():
    told = ids(None, "R6", False, True, cause="wall", status="finished")
    assert told == ["water_no_more", "stalks", "next_planter"]
    assert "next_pan" in ids(None, "R6", False, False, cause="pan", status="finished")


def test_a_failing_crop_is_not_given_up_before_its_ears_are_opened():
    assert "silage_wait" in ids(4, "R2", True, False)
    assert "silage_nitrate" in ids(4, "R4", True, False)
    assert "silage_nitrate" not in ids(2, "R4", True, False)


@pytest.mark.parametrize(
    ("wall", "pan", "cause"),
    [(2, 0, "wall"), (0, 1, "pan"), (3, 2, "wall_and_pan"), (0, 0, None), (None, None, None)],
)
def test_a_cause_is_named_from_the_dig_card(wall, pan, cause):
    assert root_cause(wall, pan) == cause
