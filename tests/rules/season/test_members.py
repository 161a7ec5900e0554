"""What is uncertain: draws within their ranges, half of them on either side of the table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.season.draw import central_draw
from rootbound_rules.season.layout import P
from rootbound_rules.season.members import (
    DIMENSIONS,
    draw_members,
    draw_rows,
    points_of,
    sobol_points,
    splitmix,
    spread,
)
from rootbound_rules.season.plan import make_plan, plan_digs
from rootbound_rules.tables import load_table
from rules.season import plausible

NAMES = tuple(row.name.lower() for row in P)
SOIL = plausible.plain_field().soil
RANGED = {
    "halving": "wall.halving_mpa",
    "slot": "wall.slot_cm",
    "widening": "wall.widening",
    "late_rate": "wall.late_rate",
}


def test_the_same_seed_gives_the_same_points_and_another_seed_others():
    assert np.array_equal(sobol_points(30, 7), sobol_points(30, 7))
    assert not np.array_equal(sobol_points(30, 7), sobol_points(30, 8))


def test_fewer_points_are_the_first_of_more_within_a_power_of_two():
    assert np.array_equal(sobol_points(20, 7), sobol_points(32, 7)[:20])


@pytest.mark.parametrize("count", [1, 2, 3, 30, 32, 33, 100])
def test_points_lie_strictly_inside(count):
    points = sobol_points(count, 1)
    assert points.shape == (count, DIMENSIONS)
    assert points.min() > 0.0
    assert points.max() < 1.0


def test_points_fill_every_dimension_evenly():
    counts = [np.histogram(sobol_points(32, 3)[:, k], 8, (0, 1))[0] for k in range(DIMENSIONS)]
    assert np.array(counts).min() == np.array(counts).max() == 4


def test_splitmix_gives_the_numbers_that_its_other_implementations_give():
    # Rosetta Code, "Pseudo-random numbers/Splitmix64", seed 1234567; from memory
    wanted = [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]
    assert splitmix(np.array([1234567]), 5)[0].tolist() == wanted


def test_points_of_many_seeds_are_those_of_each_alone():
    seeds = np.array([7, 10_007 * 900_000 + 2024, 3])
    for seed, points in zip(seeds, points_of(30, seeds), strict=True):
        assert np.array_equal(points, sobol_points(30, int(seed)))


def test_the_first_points_of_many_seeds_are_uniform_and_know_nothing_of_each_other():
    first = points_of(2, np.arange(4096))[:, 0]
    counts = [np.histogram(first[:, k], 16, (0, 1))[0] for k in range(DIMENSIONS)]
    # chi-squared with 15 degrees of freedom passes 44.3 once in ten thousand
    assert (((np.array(counts) - 256) ** 2).sum(axis=1) / 256).max() < 44.3
    apart = np.corrcoef(first.T) - np.eye(DIMENSIONS)
    assert np.abs(apart).max() < 5 / np.sqrt(4096)


def test_a_mean_over_the_members_is_surer_than_over_as_many_random_ones():
    net = points_of(32, np.arange(2000))[..., :3]
    free = np.random.default_rng(1).random(net.shape)
    wanted = 0.5**3
    spread_of = [np.std(one.prod(axis=-1).mean(axis=-1)) for one in (net, free)]
    assert abs(net.prod(axis=-1).mean() - wanted) < 0.002
    assert spread_of[0] < 0.4 * spread_of[1]


def test_draws_of_many_fields_are_those_of_each_alone():
    drier = replace(SOIL, wilting_point=0.5 * SOIL.wilting_point, clay_pct=11.0)
    points = points_of(30, np.array([4, 5]))
    both = draw_rows([SOIL, drier], points)
    for soil, own, rows in zip((SOIL, drier), points, both, strict=True):
        alone = [[getattr(draw, name) for draw in draw_members(soil, own)] for name in NAMES]
        assert np.array_equal(rows, np.array(alone))


@pytest.mark.parametrize("key", RANGED.values())
def test_a_spread_goes_from_the_low_end_through_the_number_to_the_high_end(key):
    row = load_table("wall").row(key)
    low, middle, high = spread(row, np.array([0.0, 0.5, 1.0]))
    assert (low, middle, high) == pytest.approx((row.low, row.number, row.high))
    rising = spread(row, np.linspace(0, 1, 101))
    assert (np.diff(rising) > 0).all()


def test_draws_stay_within_their_ranges_with_the_tables_number_as_median():
    draws, wall = draw_members(SOIL, sobol_points(256, 9)), load_table("wall")
    for name, key in RANGED.items():
        values, row = np.array([getattr(draw, name) for draw in draws]), wall.row(key)
        assert row.low <= values.min() < values.max() <= row.high
        assert np.median(values) == pytest.approx(row.number, rel=0.02)


def test_water_and_diffusivity_spread_around_the_fields_own():
    draws, own = draw_members(SOIL, sobol_points(256, 9)), central_draw(SOIL)
    water = np.array([draw.available for draw in draws]) / own.available
    assert 0.85 <= water.min() < 0.87
    assert 1.13 < water.max() <= 1.15
    rates = np.array([draw.diffusivity for draw in draws]) / own.diffusivity
    assert 1 / 3 <= rates.min() < 0.36
    assert 2.8 < rates.max() <= 3.0
    assert np.median(rates) == pytest.approx(1.0, rel=0.02)


def test_a_dig_that_cannot_be_is_refused():
    season = plausible.plain_field(digs=(replace(plausible.rated(2), wall_class=4),))
    with pytest.raises(RulesError, match="wall class 4"):
        plan_digs(season, make_plan(season).first)
    bare_pan = replace(plausible.rated(2), pan_class=2)
    with pytest.raises(RulesError, match="needs pan_depth_cm"):
        plan_digs(replace(season, digs=(bare_pan,)), make_plan(season).first)
