"""The season of one field for all its members at once.

The day's equations are those of ``season.step`` and ``season.crop_day``; ``season.phases``
and ``season.zones`` lay them over blocks of members; this file runs the days.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.cache import cached
from rootbound_rules.season.compiled import offer_equations
from rootbound_rules.season.demand import demand_days
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import D, Out, S, Wx
from rootbound_rules.season.phases import (
    canopy,
    climate_of_season,
    count_roots,
    cross_wall,
    grow,
    meet_pan,
    start,
    surface,
)
from rootbound_rules.season.zones import copy_free, free_zone, held_zone, part, table_kind

offer_equations()
OPTIONS = {"fastmath": True, "error_model": "numpy", "nogil": True}
NWX, NOUT, NS = len(Wx), len(Out), len(S)


@njit(**OPTIONS)
def held_day(s, f, p, digs, counts, d, growing, today, table):
    """The held twin's day: wall, counts, pan, root zone."""
    k = 0
    for i in range(1, digs.shape[0]):
        k = i if digs[i, D.DAY] <= d else k
    if growing > 0:
        cross_wall(s, f, p, digs[k, D.WALL])
    for i in range(digs.shape[0]):
        if digs[i, D.DAY] == d and digs[i, D.COUNTED] > 0:
            count_roots(s, counts, i)
    if digs[k, D.PAN] > 0:
        meet_pan(s, f, p, digs[k, D.PAN], digs[k, D.PAN_DEPTH], digs[k, D.LEAK])
    held_zone(s, f, p, today, table)


def _days(
    s,
    f,
    p,
    digs,
    counts,
    wx,
    irrigation,
    plant,
    begin,
    end,
    held,
    apart,
    more_day,
    rain,
    water,
    out,
):
    """Run days ``begin`` to before ``end`` of one block; tells whether the twins have parted.

    ``s`` holds the state before ``begin``, begun by :func:`begin_block`; on ``more_day`` there
    are ``rain`` and ``water`` beyond the weather's and the field's own.
    """
    first = (plant * NWX + Wx.GDD) * B
    heat = wx[first : first + B]
    table, none = table_kind(f), np.float32(0)
    for d in range(begin, end):
        sky = wx[d * NWX * B : (d + 1) * NWX * B]
        today = out[d * NOUT * B : (d + 1) * NOUT * B]
        planted = np.float32(1) if d >= plant else none
        canopy(s, f, sky, heat, planted)
        more = rain if d == more_day else none
        surface(s, f, sky, irrigation[d] + (water if d == more_day else none), more)
        growing = grow(s, f, planted)
        if held and growing > 0 and not apart:  # until the crop is up nothing can hold its roots
            part(s)
            apart = True
        free_zone(s, f, p, today, table)
        if apart:
            held_day(s, f, p, digs, counts, d, growing, today, table)
        else:
            copy_free(today)
        for m in range(B):
            s[S.DE * B + m] = s[S.TOP * B + m]
    return apart


days_of_block = njit(**OPTIONS)(_days)
"""Some days of one block, from the state they begin in."""


@njit(**OPTIONS)
def begin_block(s, f, p, wx, plant, days):
    """State before the first day; the climate is that of the whole season of ``days``."""
    start(s, f, p)
    climate_of_season(s, f, p, wx, plant, days)


@njit(**OPTIONS)
def season_of_block(s, f, p, digs, counts, wx, irrigation, plant, days, held, out):
    """Run one field and one block from the first day to ``days``; writes ``out``."""
    none = np.float32(0)
    begin_block(s, f, p, wx, plant, days)
    days_of_block(
        s, f, p, digs, counts, wx, irrigation, plant, 0, days, held,
        False, -1, none, none, out,  # noqa: FBT003  (not yet parted)
    )  # fmt: skip


def _one_field(f, p, digs, counts, wx, irrigation, plant, days, held, out):
    """All blocks of one field; arrays have the block as first axis, flat behind it."""
    s = np.empty(NS * B, np.float32)
    for b in range(wx.shape[0]):
        season_of_block(s, f, p[b], digs, counts[b], wx[b], irrigation, plant, days, held, out[b])


season_of_field = cached(_one_field, **OPTIONS)
"""``season_of_field(f, p, digs, counts, wx, irrigation, plant, days, held, out)``."""


demand_loop = cached(demand_days, error_model="numpy", nogil=True)
"""The loop of ``season.demand`` over a cell's days, compiled."""
