"""The two twins: identical where nothing holds the roots, apart where something does."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import timedelta

import numpy as np
import pytest

from rootbound_rules.season.layout import Out
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.values import Dig
from rules.season import plausible
from rules.season.members import as_cube, kernel_of

LOOSE = Dig(plausible.PLANTED + timedelta(days=30), 0)
SEEDS = range(25)


@pytest.mark.parametrize("digs", [(), (LOOSE,), (LOOSE, LOOSE)], ids=["undug", "loose", "twice"])
def test_twins_of_a_loose_field_are_the_same_to_the_last_digit(digs):
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        season = plausible.field(rng, digs=digs)
        sky = plausible.demand(plausible.weather(rng))
        for day in run_trace(season, sky):
            assert asdict(day.free) == asdict(day.held)
        cube = kernel_of(season, [sky])
        assert (cube[:, Out.FREE_STRESS] == cube[:, Out.HELD_STRESS]).all()
        assert (cube[:, Out.FREE_WATER] == cube[:, Out.HELD_WATER]).all()
        assert (cube[:, Out.REACH] == 1.0).all()


def test_a_dig_that_found_every_root_crossing_is_close_to_a_loose_field():
    season = plausible.plain_field(digs=(plausible.rated(0, crossing=60, held=0),))
    rng = np.random.default_rng(2)
    days = run_trace(season, plausible.demand(plausible.weather(rng, wet_share=0.1)))
    apart = [abs(day.free.within - day.held.within) for day in days]
    assert min(day.held.reach for day in days) > 0.98
    assert max(apart) < 2.0
    assert max(apart) > 0.0  # the posterior never says that all of them do


def test_a_dig_that_found_every_root_held_costs_water():
    season = plausible.plain_field(digs=(plausible.rated(3, crossing=0, held=60),))
    rng = np.random.default_rng(2)
    last = run_trace(season, plausible.demand(plausible.weather(rng, wet_share=0.1)))[-1]
    assert last.held.reach < 0.4
    assert last.held.stress_days > last.free.stress_days + 1.0


@pytest.mark.parametrize("pan", [0, 2], ids=["no pan", "pan"])
def test_a_worse_wall_never_gives_a_larger_reach_in_the_same_weather(pan):
    digs = [
        Dig(plausible.PLANTED + timedelta(days=20), wall, pan_class=pan, pan_depth_cm=20.0)
        for wall in range(4)
    ]
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        season = plausible.field(rng, digs=())
        sky = plausible.demand(plausible.weather(rng))
        reaches = np.array(
            [as_cube(run_trace(_with(season, dug), sky))[:, Out.REACH] for dug in digs]
        )
        assert (np.diff(reaches, axis=0) <= 1e-12).all()


def test_a_harder_pan_never_lets_roots_deeper_in_the_same_weather():
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        season = plausible.field(rng, digs=())
        sky = plausible.demand(plausible.weather(rng))
        depths = []
        for pan in range(4):
            dug = Dig(plausible.PLANTED, 1, pan_class=pan, pan_depth_cm=20.0)
            depths.append([day.held.depth for day in run_trace(_with(season, dug), sky)])
        assert (np.diff(np.array(depths), axis=0) <= 1e-12).all()


def test_every_axis_the_crop_puts_out_is_either_across_the_wall_or_trapped():
    season = plausible.plain_field(digs=(plausible.rated(2),))
    rng = np.random.default_rng(4)
    days = run_trace(season, plausible.demand(plausible.weather(rng)))
    grown = [day for day in days if day.collars >= 10.5]
    assert grown
    assert grown[0].crossed + grown[0].trapped == pytest.approx(1.0, abs=1e-9)


def _with(season, dug):
    return replace(season, digs=(dug,))
