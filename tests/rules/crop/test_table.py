"""The crop's table, and the stages of one field's own season."""

from __future__ import annotations

from datetime import date

import pytest

from rootbound_rules.crop.table import crop_names, crop_table, stages_of
from rootbound_rules.errors import RulesError
from rootbound_rules.season.values import FieldSeason
from rootbound_rules.water.soil import soil_from_texture


def season(**changed):
    base = {
        "lat": 41.0,
        "elevation_m": 280.0,
        "planted": date(2026, 5, 5),
        "soil": soil_from_texture("silt loam"),
    }
    return FieldSeason(**(base | changed))


@pytest.mark.parametrize("crop", crop_names())
def test_every_crop_offered_has_a_table_that_makes_stages(crop):
    stages = stages_of(season(crop=crop))

    assert stages.emergence < stages.starts[0]
    assert list(stages.starts) == sorted(stages.starts)
    assert stages.name(stages.black_layer) == stages.words.stages[-1]


def test_an_unknown_crop_is_refused_with_those_there_are():
    with pytest.raises(RulesError, match=f"'oats'; there are: {', '.join(crop_names())}"):
        crop_table("oats")


@pytest.mark.parametrize(
    ("gdd", "name"),
    [
        (0.0, "planted"),
        (114.9, "planted"),
        (115.0, "VE"),
        (196.9, "VE"),
        (197.1, "V1"),
        (935.1, "V10"),
        (1336.0, "V18"),
        (1337.0, "VT"),
        (1402.0, "R1"),
        (1661.0, "R2"),
        (1793.0, "R3"),
        (1926.0, "R4"),
        (2191.0, "R5"),
        (2700.0, "R6"),
        (4000.0, "R6"),
    ],
)
def test_a_stage_has_the_name_the_trade_gives_it(gdd, name):
    assert stages_of(season()).name(gdd) == name


def test_the_seed_tag_goes_before_the_table():
    early = stages_of(season(black_layer_gdd_f=2400.0))

    assert early.black_layer == 2400.0
    assert early.silk < stages_of(season()).silk
    assert early.emergence == stages_of(season()).emergence


def test_a_deep_seed_shifts_emergence_and_every_collar():
    shallow, deep = stages_of(season()), stages_of(season(seed_depth_cm=7.62))

    assert deep.emergence == pytest.approx(shallow.emergence + 15.0, abs=1e-6)
    assert deep.at_collar(6.0) - shallow.at_collar(6.0) == pytest.approx(15.0)


def test_the_cut_for_late_planting_is_off_until_it_is_asked_for():
    late = date(2026, 6, 1)

    assert stages_of(season(planted=late)).black_layer == 2700.0
    assert stages_of(season(planted=late, late_planting_cut=True)).black_layer < 2500.0
    assert stages_of(season(late_planting_cut=True)).black_layer == pytest.approx(2672.8)
