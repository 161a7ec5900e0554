"""The coming days of one block, to be run again and again with other rain on one of them.

Rain changes the top layer, the wall and the root zones; canopy and growth follow heat and
are recorded once. Only the twin that decides is run: the held one, and before the twins
part the one they both are.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.kernel import NOUT, NS, NWX, held_day
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import Out, S, Wx
from rootbound_rules.season.phases import canopy, grow, surface
from rootbound_rules.season.zones import free_zone, part, table_kind

OPTIONS = {"fastmath": True, "error_model": "numpy", "nogil": True}
PLANT_ROWS = (S.KCB, S.KC_MAX, S.FEW, S.ALIVE, S.COLLAR, S.STEP, S.PUT_OUT, S.OUT, S.LATE_ON)
"""Rows that canopy and growth leave each day."""
NPLANT = len(PLANT_ROWS)
_ROWS = np.array([int(row) for row in PLANT_ROWS], np.int64)


@njit(**OPTIONS)
def record_plant(state, f, wx, plant, begin, end, plants, growing):
    """Run canopy and growth alone from ``begin`` to before ``end``, keeping each day's rows.

    ``plants`` has one row of ``NPLANT`` blocks a day, ``growing`` what ``phases.grow`` tells.
    """
    s = state.copy()
    first = (plant * NWX + Wx.GDD) * B
    heat = wx[first : first + B]
    for d in range(begin, end):
        sky = wx[d * NWX * B : (d + 1) * NWX * B]
        planted = np.float32(1) if d >= plant else np.float32(0)
        canopy(s, f, sky, heat, planted)
        growing[d - begin] = grow(s, f, planted)
        for i in range(NPLANT):
            row = _ROWS[i]
            plants[d - begin, i * B : (i + 1) * B] = s[row * B : (row + 1) * B]


@njit(**OPTIONS)
def replay(
    s, f, p, digs, counts, wx, irrigation, held, apart, plants, growing,
    today, begin, end, more_day, rain, water, past, stress, states, parted,
):  # fmt: skip
    """Run days ``begin`` to before ``end`` of the twin that decides; writes rows of ``stress``.

    ``s`` holds the state before ``begin``; row ``past`` of ``stress`` is today's. As many
    states as ``states`` has rows are kept, each as it is before its day, today's first.
    """
    table, none = table_kind(f), np.float32(0)
    out = np.empty(NOUT * B, np.float32)
    for d in range(begin, end):
        k = d - today
        if k < states.shape[0]:
            states[k] = s
            parted[k] = apart
        for i in range(NPLANT):
            row = _ROWS[i]
            s[row * B : (row + 1) * B] = plants[k, i * B : (i + 1) * B]
        sky = wx[d * NWX * B : (d + 1) * NWX * B]
        on = d == more_day
        surface(s, f, sky, irrigation[d] + (water if on else none), rain if on else none)
        if held and growing[k] > 0 and not apart:
            part(s)
            apart = True
        if apart:
            held_day(s, f, p, digs, counts, d, growing[k], out, table)
        else:
            free_zone(s, f, p, out, table)
        for m in range(B):
            s[S.DE * B + m] = s[S.TOP * B + m]
        row = Out.HELD_STRESS if apart else Out.FREE_STRESS
        stress[past + k] = out[row * B : (row + 1) * B]


__all__ = ["NPLANT", "NS", "record_plant", "replay"]
