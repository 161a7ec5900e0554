"""Every crop as data: published stages come out, and what has no source is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from rootbound_rules.crop.gaps import gaps
from rootbound_rules.crop.table import crop_names, crop_table, heat_limits, stages_of
from rootbound_rules.crop.words import crop_words
from rootbound_rules.errors import RulesError
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.layout import Out
from rootbound_rules.season.plan import make_plan
from rootbound_rules.season.trace import run_trace, trace_season
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture
from rules.season import plausible
from rules.season.members import as_cube, kernel_of

PLANTED = date(2026, 5, 5)
SOIL = soil_from_texture("silt loam")
CROPS = crop_names()
OTHERS = tuple(crop for crop in CROPS if crop != "maize")


def season(crop, **changed):
    base = {"lat": 41.0, "elevation_m": 280.0, "planted": PLANTED, "soil": SOIL}
    return FieldSeason(crop=crop, **(base | changed))


def summer(tmax_c=28.0, tmin_c=14.0, days=200):
    """Days of one temperature with a shower every fourth."""
    rain = np.where(np.arange(days) % 4 == 0, 9.0, 0.0)
    return DailyWeather(PLANTED, np.full(days, tmax_c), np.full(days, tmin_c), rain)


def begins(crop, stage, **changed):
    stages = stages_of(season(crop, **changed))
    return stages.starts[stages.words.stages.index(stage)]


def test_maize_soybean_and_sorghum_are_offered():
    assert CROPS == ("maize", "soybean", "sorghum")


@pytest.mark.parametrize(
    ("stage", "medium_early", "medium_late"),
    [
        ("GPD", 702, 1152),
        ("flag", 954, 1404),
        ("boot", 1206, 1647),
        ("bloom", 1440, 1908),
        ("soft dough", 1746, 2196),
        ("hard dough", 2196, 2646),
        ("black layer", 2556, 3006),
    ],
)
def test_sorghum_has_the_published_heat_units_of_both_maturities(stage, medium_early, medium_late):
    """Kansas State University eUpdate 661-1, Table 1.

    Boot and bloom of the late group lie 9 and 18 off the early group's distance to black layer.
    """
    late = begins("sorghum", stage, black_layer_gdd_f=3006.0)

    assert begins("sorghum", stage) == medium_early
    assert late == pytest.approx(medium_late, abs=18.0)


@pytest.mark.parametrize(("leaf", "published"), [(3, 252), (5, 396)])
def test_sorghum_shows_its_counted_leaves_where_the_table_has_them(leaf, published):
    """Kansas State University eUpdate 661-1: third leaf 252, fifth leaf 396."""
    stages = stages_of(season("sorghum"))

    assert stages.at_collar(leaf) == pytest.approx(published, abs=26.0)
    assert stages.name(stages.at_collar(leaf) + 0.1) == f"{leaf}-leaf"


def test_a_hot_day_counts_for_more_in_sorghum_than_in_maize():
    """Sorghum counts to 100 degF, maize to 86: 38 degC and 20 degC give 34 and 27."""
    hot = summer(38.0, 20.0, days=3)
    maize, soybean, sorghum = (trace_season(season(crop), hot)[1].gdd_f for crop in CROPS)

    assert maize == soybean == pytest.approx(27.0)
    assert sorghum == pytest.approx((100.0 + 68.0) / 2 - 50.0)


def test_soybean_roots_deepen_as_published_and_turn_at_the_third_node():
    """Ordonez et al. 2018: 1.19 cm a day to the 3rd node, 3.31 to the 13th at 813.6 degC d."""
    days = trace_season(season("soybean"), summer())
    depths = [day.free.depth for day in days]
    third = next(i for i, day in enumerate(days) if day.stage == "V3")
    up = next(i for i, day in enumerate(days) if day.stage == "VE")

    assert np.diff(depths[up:third]) == pytest.approx(0.0119)
    assert np.diff(depths[third : third + 20]) == pytest.approx(0.0331)
    assert stages_of(season("soybean")).at_collar(13.0) == pytest.approx(1.8 * 813.6, abs=1.0)


def test_sorghum_roots_reach_the_published_depth_at_the_fifth_leaf_and_at_bloom():
    """Stone et al. 2001, Kansas: 25 mm a day from 20 to 60 days after emergence.

    1.85 m in the end, of which 30 days of 8 mm come last, leaves 1.61 m at day 60, 0.61 at 20.
    """
    deep_soil = soil_from_texture("silt loam", profile_depth_m=2.5)
    days = trace_season(season("sorghum", soil=deep_soil), summer())
    up = next(i for i, day in enumerate(days) if day.stage == "emerged")
    depth = {day.stage: day.free.depth for day in days}

    assert days[up + 20].free.depth == pytest.approx(0.61, abs=0.06)
    assert depth["black layer"] == depth["bloom"] == pytest.approx(1.61, abs=0.25)


@pytest.mark.parametrize("crop", CROPS)
@pytest.mark.parametrize("tag", [None, 2000.0, 3200.0])
def test_stages_follow_each_other_whatever_the_seed_tag_says(crop, tag):
    stages = stages_of(season(crop, black_layer_gdd_f=tag))

    assert list(stages.starts) == sorted(stages.starts)
    assert stages.emergence < stages.starts[0]
    assert stages.silk < stages.r5 < stages.black_layer == stages.starts[-1]


@pytest.mark.parametrize("crop", CROPS)
def test_names_run_through_the_season_in_order_without_a_repeat(crop):
    stages = stages_of(season(crop))
    told = list(dict.fromkeys(stages.name(float(gdd)) for gdd in range(3200)))

    assert told[0] == "planted"
    assert told[1] == stages.words.up
    assert tuple(told[-7:]) == stages.words.stages
    assert [name for name in stages.words.shown if name not in told] == []


def test_soybean_counts_nodes_and_sorghum_leaves():
    assert stages_of(season("soybean")).name(500.0) == "V3"
    assert stages_of(season("sorghum")).name(500.0) == "6-leaf"
    assert crop_words("sorghum").at_collar(0) == "emerged"


def test_the_critical_window_of_each_crop_lies_around_its_own_stage():
    """Silk of maize, the first pods of soybean (R3), bloom of sorghum."""
    around = {crop: stages_of(season(crop)) for crop in CROPS}

    told = {crop: stages.name(stages.silk) for crop, stages in around.items()}
    assert told == {"maize": "R1", "soybean": "R3", "sorghum": "bloom"}


@pytest.mark.parametrize("crop", CROPS)
def test_the_canopy_closes_after_it_opens_and_dries_before_maturity(crop):
    plan = make_plan(season(crop))

    assert plan.emergence < plan.kc_initial_end < plan.kc_mid_start < plan.kc_late_start
    assert plan.kc_late_start < plan.maturity
    assert plan.kcb_initial < plan.kcb_end < plan.kcb_mid


@pytest.mark.parametrize("crop", CROPS)
def test_each_crop_runs_to_maturity_and_a_wall_costs_it_reach(crop):
    free = trace_season(season(crop), summer())
    held = trace_season(season(crop, digs=(Dig(date(2026, 6, 8), 3),)), summer())

    assert free[-1].stage == crop_words(crop).mature
    assert [day.free for day in free] == [day.free for day in held]
    assert held[-1].held.reach < free[-1].held.reach == 1.0


@pytest.mark.parametrize("crop", OTHERS)
def test_a_compiled_member_of_another_crop_agrees_with_its_trace(crop):
    """Water to 0.01 mm, shares to 1e-4 over the longest season, as for maize."""
    for seed in range(6):
        rng = np.random.default_rng([31, seed])
        field = replace(plausible.field(rng), crop=crop, black_layer_gdd_f=None)
        sky = cell_demand(plausible.weather(rng), field.lat, 300.0, *heat_limits(crop))
        apart = np.abs(kernel_of(field, [sky])[:, :, 0] - as_cube(run_trace(field, sky)))

        assert apart[:, [Out.FREE_WATER, Out.HELD_WATER]].max() < 0.01
        assert apart[:, [Out.FREE_STRESS, Out.HELD_STRESS, Out.REACH]].max() < 1e-4


def test_the_late_planting_cut_is_refused_where_no_source_has_one():
    with pytest.raises(RulesError, match=r"no row 'stage.late_planting_cut' in soybean.toml"):
        stages_of(season("soybean", late_planting_cut=True))


@pytest.mark.parametrize("crop", CROPS)
def test_every_row_from_memory_or_taken_from_maize_is_told_as_a_gap(crop):
    table = crop_table(crop)
    told = {row for gap in crop_words(crop).gaps for row in gap.rows}
    weak = {
        key
        for key, row in table.rows.items()
        if row.tag == "memory" or (row.tag == "choice" and "as for maize" in row.why)
    }

    assert told - set(table.rows) == set()
    assert weak - told == set()


@pytest.mark.parametrize("crop", OTHERS)
def test_a_crop_says_that_its_wall_and_its_ladder_are_those_of_maize(crop):
    sentences = gaps(crop)

    assert f"{crop}: how a furrow wall holds its roots is taken from maize; no source" in sentences
    assert any("from which" in sentence and "stress counts" in sentence for sentence in sentences)
    assert all(sentence.startswith(f"{crop}: ") for sentence in sentences)
    assert len(set(sentences)) == len(sentences)


def test_maize_has_one_gap_to_tell():
    assert len(gaps("maize")) == 1


def test_gaps_of_a_crop_without_a_table_are_refused():
    with pytest.raises(RulesError, match="'oats'; there are: maize, soybean, sorghum"):
        gaps("oats")


def test_limits_of_heat_are_those_of_the_crop():
    assert [heat_limits(crop) for crop in CROPS] == [(50, 86), (50, 86), (50, 100)]
