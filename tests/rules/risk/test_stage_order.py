"""Stages in the order of each crop's season."""

from __future__ import annotations

import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.stage_order import stage_order
from rules.risk.situations import stages_of


@pytest.mark.parametrize("crop", ["maize", "soybean", "sorghum"])
def test_stages_follow_the_season(crop):
    order = [stage_order(stage, crop) for stage in stages_of(crop)]

    assert order == sorted(order)
    assert len(set(order)) == len(order)


@pytest.mark.parametrize("stage", ["", "V", "V0", "V06", "X3", "R-1", "R9", "v6", "Vx", "boot"])
def test_a_stage_that_is_none_is_refused(stage):
    with pytest.raises(RulesError, match="is no stage of maize"):
        stage_order(stage)


def test_a_stage_of_one_crop_is_none_of_another():
    assert stage_order("R7", "soybean") > stage_order("R6", "soybean")
    with pytest.raises(RulesError, match="is no stage of soybean"):
        stage_order("VT", "soybean")
    with pytest.raises(RulesError, match="no table for crop"):
        stage_order("V3", "hops")
