"""Stress by stage times the published loss per stress day: a range, its blanks kept blank."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.exposure import (
    CAVEAT,
    NO_NUMBER,
    band_of,
    exposure,
    fao33_left,
    fao33_loss,
    loss_bands,
)
from rules.risk.situations import stages_of

DAYS = st.floats(0.0, 40.0)
PAIRS = st.lists(st.tuples(st.sampled_from(stages_of()), DAYS), max_size=8)


def test_days_of_each_stage_are_multiplied_by_their_own_range():
    told = exposure([("V13", 1.0), ("R1", 2.0), ("R3", 0.5)])
    assert (told.low, told.middle, told.high) == pytest.approx(
        (2.1 + 2 * 3.0 + 0.5 * 3.0, 3.0 + 2 * 6.8 + 0.5 * 4.2, 3.7 + 2 * 8.0 + 0.5 * 5.8)
    )
    assert [share.first_stage for share in told.shares] == ["V12", "R1", "R3"]
    assert told.unpriced == 0.0
    assert told.caveat == CAVEAT


def test_the_outlooks_range_widens_the_published_one():
    told = exposure([("R1", (0.5, 1.0, 2.0))])
    assert (told.low, told.middle, told.high) == pytest.approx((1.5, 6.8, 16.0))


def test_stress_before_v12_is_told_as_days_without_a_number_and_not_as_no_loss():
    told = exposure([("V8", 3.0), ("V11", (0.0, 1.0, 2.0))])
    assert (told.low, told.middle, told.high) == (0.0, 0.0, 0.0)
    assert told.unpriced == 4.0
    assert NO_NUMBER in told.caveat


def test_the_tassel_belongs_to_the_weeks_before_silk_and_v20_does_too():
    assert [band_of(stage) for stage in ("V11", "V12", "V15", "V16", "V20", "VT", "R1", "R6")] == [
        None, "V12", "V12", "V16", "V16", "V16", "R1", "R6",
    ]  # fmt: skip


def test_black_layer_ends_what_dry_days_cost():
    assert exposure([("R6", 9.0)]).high == 0.0


def test_no_stress_is_no_exposure_and_no_season_adds_up_to_more_than_everything():
    assert exposure([]).high == 0.0
    assert exposure([("R1", 40.0)]).high == 100.0


@pytest.mark.parametrize("crop", ["soybean", "sorghum"])
def test_a_crop_without_a_published_table_has_no_exposure(crop):
    assert exposure([("R1", 2.0)], crop) is None


def test_the_caveat_promises_nothing():
    assert "not a forecast" in CAVEAT
    assert "bushel" not in CAVEAT.lower()


@pytest.mark.parametrize("wrong", [("R1", -0.1), ("R1", (2.0, 1.0, 3.0)), ("V6", float("nan"))])
def test_stress_that_cannot_be_is_refused_by_stage(wrong):
    with pytest.raises(RulesError, match=f"stress at {wrong[0]}"):
        exposure([wrong])
    with pytest.raises(RulesError, match="is no stage"):
        exposure([("R9", 1.0)])


@given(PAIRS, st.randoms())
def test_the_order_of_the_stages_does_not_matter_and_the_range_is_in_order(pairs, chance):
    told = exposure(pairs)
    mixed = pairs.copy()
    chance.shuffle(mixed)
    again = exposure(mixed)
    assert 0.0 <= told.low <= told.middle <= told.high <= 100.0
    assert (again.low, again.high) == pytest.approx((told.low, told.high))


@given(PAIRS, st.sampled_from(stages_of()), DAYS)
def test_more_stress_never_lowers_the_exposure(pairs, stage, more):
    assert exposure([*pairs, (stage, more)]).middle >= exposure(pairs).middle - 1e-9


def test_the_bands_follow_the_season():
    assert loss_bands() == ("V12", "V16", "R1", "R2", "R3", "R4", "R5", "R6")


def test_no_shortage_costs_nothing_by_fao_33_and_no_stage_more_than_everything():
    assert fao33_loss(1.5, 100.0, 100.0) == 0.0
    assert fao33_loss(1.5, 0.0, 100.0) == 1.0
    assert fao33_left({}) == 1.0
    assert fao33_left({"flowering": (20.0, 100.0), "vegetative": (90.0, 100.0)}) == 0.0


@pytest.mark.parametrize(("actual", "full"), [(-1.0, 9.0), (10.0, 9.0), (0.0, 0.0)])
def test_evapotranspiration_that_cannot_be_is_refused(actual, full):
    with pytest.raises(RulesError, match="give 0 <= actual <= full"):
        fao33_loss(1.25, actual, full)
