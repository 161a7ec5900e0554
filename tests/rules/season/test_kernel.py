"""The compiled float32 members against the float64 trace, field by field, day by day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootbound_rules.season.layout import BLOCK, Out
from rootbound_rules.season.members import draw_members, sobol_points
from rootbound_rules.season.trace import run_trace
from rules.season import plausible
from rules.season.members import as_cube, kernel_of

WATER = [Out.FREE_WATER, Out.HELD_WATER]
SHARES = [Out.FREE_STRESS, Out.HELD_STRESS, Out.REACH]


def _dry(rng):
    season = plausible.field(rng)
    return replace(season, soil=replace(season.soil, water_table_m=None))


def _over_a_table(rng):
    season = plausible.field(rng)
    return replace(season, soil=replace(season.soil, water_table_m=float(rng.uniform(0.6, 2.4))))


@pytest.mark.parametrize("watered", [False, True], ids=["rain fed", "watered"])
@pytest.mark.parametrize("make", [_dry, _over_a_table], ids=["deep table", "shallow table"])
def test_a_member_agrees_with_the_trace_over_the_whole_season(make, watered, record_property):
    """Shares to 1e-4; water to 0.01 mm after the longest season."""
    worst_mm, worst_share, case = 0.0, 0.0, ""
    for seed in range(40):
        rng = np.random.default_rng([21, seed, watered])
        season = make(rng)
        sky = plausible.demand(plausible.weather(rng, watered=watered))
        apart = np.abs(kernel_of(season, [sky])[:, :, 0] - as_cube(run_trace(season, sky)))
        if apart[:, WATER].max() > worst_mm:
            worst_mm = float(apart[:, WATER].max())
            day = int(apart[:, WATER].max(axis=1).argmax())
            case = f"seed {seed}, day {day}, {season.soil.texture}, {season.soil.water_table_m}"
        worst_share = max(worst_share, float(apart[:, SHARES].max()))
    record_property("worst_water_mm", worst_mm)
    record_property("worst_share", worst_share)
    assert worst_mm < 0.01, f"{worst_mm:.5f} mm apart: {case}"
    assert worst_share < 1e-4, f"{worst_share:.2e} apart"


def test_a_member_agrees_with_the_trace_where_the_table_falls_out_of_reach():
    """A dry summer: the table falls by what rises until it lies as far off as anything rises."""
    worst, case = 0.0, ""
    for seed in range(40):
        rng = np.random.default_rng([24, seed])
        season = _over_a_table(rng)
        deep = replace(season.soil, profile_depth_m=2.0, water_table_m=0.8 + 0.02 * seed)
        season = replace(season, soil=deep)
        sky = plausible.demand(plausible.weather(rng, wet_share=0.05))
        apart = np.abs(kernel_of(season, [sky])[:, :, 0] - as_cube(run_trace(season, sky)))
        if apart[:, WATER].max() > worst:
            worst = float(apart[:, WATER].max())
            case = f"{season.soil.texture}, table at {season.soil.water_table_m:.2f} m"
    assert worst < 0.01, f"{worst:.3f} mm apart: {case}"


def test_members_with_seasons_of_their_own_agree_with_their_own_traces():
    worst = np.zeros(len(Out))
    for seed in range(8):
        rng = np.random.default_rng([22, seed])
        season = _dry(rng)
        skies = [plausible.demand(plausible.weather(rng)) for _ in range(BLOCK + 5)]
        cube = kernel_of(season, skies)
        for m in range(0, len(skies), 6):
            apart = np.abs(cube[:, :, m] - as_cube(run_trace(season, skies[m])))
            worst = np.maximum(worst, apart.max(axis=0))
    told = {row.name: float(worst[row]) for row in Out}
    assert worst[WATER].max() < 0.01, told
    assert worst[SHARES].max() < 1e-4, told


def test_a_member_is_the_same_whatever_stands_beside_it():
    worst = 0.0
    for seed in range(12):
        rng = np.random.default_rng([23, seed])
        season = _dry(rng)
        skies = [plausible.demand(plausible.weather(rng)) for _ in range(6)]
        together = kernel_of(season, skies)
        for m, sky in enumerate(skies):
            alone = kernel_of(season, [sky])[:, :, 0]
            worst = max(worst, float(np.abs(together[:, :, m] - alone).max()))
    assert worst == 0.0, f"{worst} from other members of the block"


def test_each_member_has_its_own_draw(rng):
    season = plausible.plain_field(digs=(plausible.rated(2),))
    sky = plausible.demand(plausible.weather(rng, wet_share=0.15))
    draws = draw_members(season.soil, sobol_points(40, 5))
    cube = kernel_of(season, [sky] * 40, draws)
    for m in (0, 17, 39):
        mine = as_cube(run_trace(season, sky, draws[m]))
        assert np.abs(cube[:, WATER, m] - mine[:, WATER]).max() < 0.01
    assert len(np.unique(cube[:, Out.HELD_STRESS].sum(axis=0))) > 20


def test_the_members_are_the_same_on_a_second_run(rng):
    season = plausible.field(rng)
    skies = [plausible.demand(plausible.weather(rng)) for _ in range(3)]
    assert np.array_equal(kernel_of(season, skies), kernel_of(season, skies))
