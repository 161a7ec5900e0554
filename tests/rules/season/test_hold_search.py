"""A season begun again at a day, and the search's own trials, are the whole season's to the bit."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from rootbound_rules.season.hold_days import NPLANT, record_plant, replay
from rootbound_rules.season.hold_margin import OWN, margins, sum_up
from rootbound_rules.season.kernel import NS, begin_block, days_of_block, season_of_block
from rootbound_rules.season.layout import BLOCK, Out, Wx
from rules.season import plausible
from rules.season.members import packed_season

ZERO = np.float32(0)
COMING = 21


@cache
def block_of(seed, watered=False):
    """One field's first block as the kernel takes it, without what it writes; only to be read."""
    rng = np.random.default_rng([81, seed])
    season = plausible.field(rng)
    skies = [plausible.demand(plausible.weather(rng, watered=watered)) for _ in range(5)]
    f, p, digs, counts, wx, *rest = packed_season(season, skies)
    return f, p[0], digs, counts[0], wx[0], *rest


def whole(block):
    """The whole season as one run: (days, rows, 32)."""
    out = np.empty(block[7] * len(Out) * BLOCK, np.float32)
    season_of_block(np.zeros(NS * BLOCK, np.float32), *block, out)
    return out.reshape(block[7], len(Out), BLOCK)


def in_two_parts(block, at, more_day=-1, rain=ZERO, water=ZERO):
    """Run to ``at``, keep the state, go on from a copy of it."""
    f, p, digs, counts, wx, irrigation, plant, days, held = block
    s, out = np.zeros(NS * BLOCK, np.float32), np.empty(days * len(Out) * BLOCK, np.float32)
    begin_block(s, f, p, wx, plant, days)
    fixed = (f, p, digs, counts, wx, irrigation, plant)
    apart = days_of_block(s, *fixed, 0, at, held, False, -1, ZERO, ZERO, out)
    kept = s.copy()
    days_of_block(s, *fixed, at, days, held, apart, more_day, rain, water, out)
    return out.reshape(days, len(Out), BLOCK), kept, apart


@pytest.mark.parametrize("at", [30, 90, 104, 150, 220])
def test_a_season_begun_again_at_a_day_is_the_whole_season_to_the_bit(at):
    """Day 90 is planting; about day 104 the crop is up and the twins part."""
    for seed in range(8):
        block = block_of(seed)
        assert np.array_equal(in_two_parts(block, at)[0], whole(block)), seed


@pytest.mark.parametrize("as_water", [False, True], ids=["rain", "water given"])
def test_more_water_on_a_day_is_as_if_it_stood_in_the_weather(as_water):
    for seed in range(8):
        block, amount = block_of(seed, watered=True), np.float32(17.3)
        at, day = 140, 143
        rain, water = (ZERO, amount) if as_water else (amount, ZERO)
        wx, irrigation = block[4].copy(), block[5].copy()
        if as_water:
            irrigation[day] += amount
        else:
            wx.reshape(-1, len(Wx), BLOCK)[day, Wx.RAIN] += amount
        other = whole((*block[:4], wx, irrigation, *block[6:]))
        assert np.array_equal(in_two_parts(block, at, day, rain, water)[0], other), seed
        assert not np.array_equal(other, whole(block)), seed


@pytest.mark.parametrize("at", [92, 100, 130, 170])
def test_a_trial_of_the_search_gives_the_stress_of_the_whole_season_to_the_bit(at):
    for seed in range(12):
        block, day, amount = block_of(seed), at + 3, np.float32(24.0)
        cube, kept, apart = in_two_parts(block, at, day, amount)
        f, p, digs, counts, wx, irrigation, plant, _, held = block
        plants = np.empty((COMING, NPLANT * BLOCK), np.float32)
        growing, stress = np.empty(COMING, np.float32), np.zeros((COMING, BLOCK), np.float32)
        record_plant(kept, f, wx, plant, at, at + COMING, plants, growing)
        states, parted = np.empty((1, NS * BLOCK), np.float32), np.empty(1, np.bool_)
        replay(
            kept.copy(), f, p, digs, counts, wx, irrigation, held, apart, plants, growing,
            at, at, at + COMING, day, amount, ZERO, 0, stress, states, parted,
        )  # fmt: skip
        assert np.array_equal(stress, cube[at : at + COMING, Out.HELD_STRESS]), seed
        assert np.array_equal(states[0], kept)
        assert parted[0] == apart


def asked(members, needed, mark=1.0, rung=0):
    """The ladder's question with one rung open: so many members must reach the mark."""
    need = np.full((3, 3, 2), members + 1, np.int64)
    need[:, :, 0] = needed
    return rung, need, np.array([2, -2]), np.array([mark, mark]), members


def margin(stress, question):
    """Margin of the ladder's own share over nights 1 and 2 of one block or more."""
    blocks, rows, _ = stress.shape
    sums, over = np.empty((blocks, rows + 1, BLOCK)), np.empty(3)
    sum_up(stress, sums)
    margins(sums, 2, 1, 2, question, over)
    return over[OWN]


def test_the_margin_is_that_of_the_member_who_decides_on_the_worst_night():
    stress = np.zeros((1, 6, BLOCK), np.float32)
    stress[0, 4, :10] = np.arange(10) / 4.0  # coming on both nights
    assert margin(stress, asked(10, 1)) == pytest.approx(9 / 4 - 1.0)
    assert margin(stress, asked(10, 4)) == pytest.approx(6 / 4 - 1.0)
    assert margin(stress, asked(10, 10)) == pytest.approx(-1.0)
    assert margin(stress, asked(10, 11)) == -np.inf


def test_members_that_only_fill_the_last_block_never_count():
    stress = np.zeros((2, 6, BLOCK), np.float32)
    stress[1, 4, 8:] = 5.0  # 40 members: the rest of the second block repeats others
    assert margin(stress, asked(40, 1)) == pytest.approx(-1.0)
    stress[1, 4, 7] = 5.0
    assert margin(stress, asked(40, 1)) == pytest.approx(4.0)


def test_a_day_without_plants_parts_no_twins():
    block = block_of(1)
    assert not in_two_parts(block, 60)[2]
    season = replace(plausible.plain_field(digs=(plausible.rated(2),)))
    sky = plausible.demand(plausible.weather(np.random.default_rng(82)))
    f, p, digs, counts, wx, *rest = packed_season(season, [sky])
    assert in_two_parts((f, p[0], digs, counts[0], wx[0], *rest), 160)[2]
