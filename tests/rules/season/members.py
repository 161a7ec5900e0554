"""Run the compiled members on whole seasons of one's own, and read a trace the same way."""

from __future__ import annotations

import numpy as np

from rootbound_rules.season.draw import central_draw
from rootbound_rules.season.kernel import season_of_field
from rootbound_rules.season.layout import BLOCK, Out, Wx
from rootbound_rules.season.pack import in_blocks, out_of_blocks, pack_field, padded
from rootbound_rules.season.plan import is_held, make_plan, plan_digs

READ = {
    Out.FREE_STRESS: lambda day: day.free.stress,
    Out.HELD_STRESS: lambda day: day.held.stress,
    Out.FREE_WATER: lambda day: day.free.water,
    Out.HELD_WATER: lambda day: day.held.water,
    Out.REACH: lambda day: day.held.reach,
}
"""Where a trace holds what the kernel writes."""


def kernel_of(season, demands, draws=None):
    """Every weather as one member: (days, rows, members), the dig's share at its mean."""
    given = packed_season(season, demands, draws)
    days = len(demands[0])
    out = np.empty((len(given[4]), days * len(Out) * BLOCK), np.float32)
    season_of_field(*given, out)
    return out_of_blocks(out, days, len(demands))


def packed_season(season, demands, draws=None):
    """All that ``season_of_field`` is called with, but for what it writes."""
    plan, count, days = make_plan(season), len(demands), len(demands[0])
    digs = plan_digs(season, plan.first)
    packed = pack_field(
        season, plan, draws or [central_draw(season.soil, season.crop)] * count, np.full(count, 0.5)
    )
    if digs:
        shares = packed.counts.reshape(-1, len(digs), BLOCK)
        for k, found in enumerate(digs):
            shares[:, k] = 1.0 if found.counted is None else found.counted
    order = padded(count)
    cube = np.empty((days, len(Wx), len(order)), np.float32)
    for j, m in enumerate(order):
        cube[:, Wx.RAIN, j] = demands[m].rain_mm
        cube[:, Wx.ET0, j] = demands[m].et0_mm
        cube[:, Wx.CLIMATE, j] = demands[m].climate
        cube[:, Wx.GDD, j] = np.cumsum(demands[m].gdd_f)
    return (
        packed.field, packed.params, packed.digs, packed.counts, in_blocks(cube),
        demands[0].irrigation_mm.astype(np.float32), plan.plant_day, days,
        is_held(digs, plan.class0),
    )  # fmt: skip


def as_cube(trace):
    """A trace in the kernel's rows: (days, rows)."""
    return np.array([[READ[row](day) for row in Out] for day in trace])
