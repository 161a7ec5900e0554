"""What the compiled members carry inside, after a whole season, against the float64 trace."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rootbound_rules.season.kernel import season_of_block
from rootbound_rules.season.layout import BLOCK, Out, S
from rootbound_rules.season.trace import run_trace
from rules.season import plausible
from rules.season.members import packed_season

READ = {
    S.DE: lambda day: day.top_depletion_mm,
    S.CROSSED: lambda day: day.crossed,
    S.TRAPPED: lambda day: day.trapped,
    S.F_DEPTH: lambda day: day.free.depth,
    S.F_WITHIN: lambda day: day.free.within,
    S.F_BELOW: lambda day: day.free.below,
    S.H_DEPTH: lambda day: day.held.depth,
    S.H_WITHIN: lambda day: day.held.within,
    S.H_BEYOND: lambda day: day.held.beyond,
    S.H_BELOW: lambda day: day.held.below,
    S.H_REACH: lambda day: day.held.reach,
}


def test_every_store_a_member_carries_agrees_with_the_trace_at_the_end(record_property):
    worst = dict.fromkeys(READ, 0.0)
    for seed in range(60):
        rng = np.random.default_rng([25, seed])
        season = plausible.field(rng, digs=(plausible.dig(rng), plausible.rated(2)))
        season = replace(season, soil=replace(season.soil, water_table_m=None))
        sky = plausible.demand(plausible.weather(rng))
        inside, last = _at_the_end(season, sky), run_trace(season, sky)[-1]
        for row, read in READ.items():
            apart = abs(float(inside[row]) - read(last))
            if row is S.H_BEYOND:
                apart *= 1.0 - last.held.reach  # next to nothing may lie beyond
            worst[row] = max(worst[row], apart)
    told = {row.name: f"{apart:.1e}" for row, apart in worst.items()}
    record_property("worst", str(told))
    assert max(worst.values()) < 0.01, told


def _at_the_end(season, sky):
    """Rows of state of the first member when its season is over."""
    field, params, digs, counts, weather, *rest = packed_season(season, [sky])
    state = np.zeros(len(S) * BLOCK, np.float32)
    out = np.empty(len(sky) * len(Out) * BLOCK, np.float32)
    season_of_block(state, field, params[0], digs, counts[0], weather[0], *rest, out)
    return state.reshape(len(S), BLOCK)[:, 0]
