"""A night over many fields in parallel: both twins, the chances, and rain to hold.

Each group of fields has one scratch, in which a field's days live; only a row a field leaves
it, so that memory does not grow with the number of days or members. A caller with very many
fields gives them in chunks.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from rootbound_rules.season.cache import cached
from rootbound_rules.season.hold import stress_around
from rootbound_rules.season.hold_search import search_field
from rootbound_rules.season.kernel import NOUT, NS, NWX, begin_block, days_of_block
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import F, Out, Wx
from rootbound_rules.season.night_rows import (
    NTOLD,
    Told,
    count_reaching,
    onsets,
    raw_rung_of,
    tell_onsets,
)

OPTIONS = {"error_model": "numpy", "nogil": True}
GROUP = 64
"""Fields that share a scratch, one after the other."""
AT_TOP = 3
"""Told of a field that has no rung above its own; else what ``hold_search`` tells."""


@njit(**OPTIONS)
def ripe_day(f, wx, plant, days):
    """First day on which every member has reached black layer; ``days`` if there is none.

    From that day on no stress counts, and no climate enters the coefficients.
    """
    ripe = plant
    first = (plant * NWX + Wx.GDD) * B
    for b in range(len(wx)):
        early, late = ripe, days
        while early < late:
            middle = (early + late) // 2
            at = (middle * NWX + Wx.GDD) * B
            least = np.float32(np.inf)
            for m in range(B):
                least = min(least, wx[b, at + m] - wx[b, first + m])
            early, late = (early, middle) if least >= f[F.MATURITY] else (middle + 1, late)
        ripe = early
    return ripe


@njit(**OPTIONS)
def _need_of(gates, table, need):
    """Lay the members needed on each night side by side."""
    for night in range(len(gates)):
        need[:, night, :] = table[gates[night]]


@njit(**OPTIONS)
def _median_of(out, row, day, members, into):
    """Add one block's members of one row to ``into``."""
    at = (max(day, 0) * NOUT + row) * B
    into[:] = out[at : at + members]


@njit(**OPTIONS)
def _run_blocks(run, today, past, asked, mark, scratch, begun, apart, base, each, counts):
    """Both twins of one field to the end, block by block, keeping what the reductions read."""
    f, p, digs, seen, wx, irrigation, plant, end, held = run
    s, out = scratch
    _, _, spans, marks, members = asked
    zero = np.float32(0)
    counts[:] = 0
    for b in range(len(p)):
        mine = min(B, members - b * B)
        begin_block(s, f, p[b], wx[b], plant, end)
        apart[b] = days_of_block(
            s, f, p[b], digs, seen[b], wx[b], irrigation, plant, 0, today, held, False,  # noqa: FBT003  (not yet parted)
            -1, zero, zero, out,
        )  # fmt: skip
        begun[b] = s
        days_of_block(
            s, f, p[b], digs, seen[b], wx[b], irrigation, plant, today, end, held, apart[b],
            -1, zero, zero, out,
        )  # fmt: skip
        stress_around(out, past, today, end, base[b])
        here = slice(b * B, b * B + mine)
        count_reaching(out, Out.HELD_STRESS, today, end, spans, marks, mine, counts[0])
        count_reaching(out, Out.FREE_STRESS, today, end, spans, marks, mine, counts[1])
        onsets(out, Out.HELD_STRESS, end, mark, mine, each[0, here])
        onsets(out, Out.FREE_STRESS, end, mark, mine, each[1, here])
        _median_of(out, Out.HELD_WATER, today - 1, mine, each[2, here])
        _median_of(out, Out.FREE_WATER, today - 1, mine, each[3, here])
        _median_of(out, Out.REACH, today - 1, mine, each[4, here])


@njit(**OPTIONS)
def _tell(counts, need, each, soon, told):
    """Fill a field's row."""
    members = each.shape[1]
    for c in range(4):
        told[Told.HELD_14 + c] = counts[0, c] / members
        told[Told.FREE_14 + c] = counts[1, c] / members
    told[Told.HELD_RUNG] = raw_rung_of(counts[0], need)
    told[Told.FREE_RUNG] = raw_rung_of(counts[1], need)
    tell_onsets(each[0], each[1], soon, told)
    told[Told.HELD_WATER] = np.median(each[2])
    told[Told.FREE_WATER] = np.median(each[3])
    told[Told.REACH] = np.median(each[4])


def _night(
    fields, params, digs, counts, cells, weather, irrigation, plant, held, today, before, gates,
    table, spans, marks, mark, members, limits, told, hold, found,
):  # fmt: skip
    """Every field; see ``night``."""
    days, blocks, nights = irrigation.shape[1], params.shape[1], hold.shape[1]
    past, coming = -spans.min(), spans.max()
    for group in prange((len(fields) + GROUP - 1) // GROUP):
        s, out = np.zeros(NS * B, np.float32), np.empty(days * NOUT * B, np.float32)
        begun, apart = np.empty((blocks, NS * B), np.float32), np.zeros(blocks, np.bool_)
        base = np.empty((blocks, past + nights + coming, B), np.float32)
        each, reached = np.empty((5, members), np.float64), np.empty((2, 4), np.int64)
        need = np.empty((3, nights + 1, 4), np.int64)
        for i in range(group * GROUP, min((group + 1) * GROUP, len(fields))):
            f, wx = fields[i], weather[cells[i]]
            water = irrigation[min(np.int64(i), irrigation.shape[0] - 1)]
            _need_of(gates[i], table, need)
            end = max(ripe_day(f, wx, plant[i], days), today[i])
            run = (f, params[i], digs[i], counts[i], wx, water, plant[i], end, held[i])
            asked = (np.int64(0), need, spans, marks, members)
            _run_blocks(
                run, today[i], past, asked, mark, (s, out), begun, apart, base, each, reached
            )
            _tell(reached, need[1, 0], each, today[i] + coming, told[i])
            rung = max(np.int64(told[i, Told.HELD_RUNG]), before[i])
            if rung >= 4:
                hold[i], found[i] = np.nan, AT_TOP
            else:
                asked = (rung, need, spans, marks, members)
                found[i] = search_field(
                    run, begun, apart, base, past, today[i], asked, limits, hold[i]
                )


night = cached(_night, parallel=True, **OPTIONS)
"""Run a night over many fields.

Parameters
----------
fields, params, digs, counts, cells, weather, irrigation, plant, held, today
    As ``season.sweep.sweep`` takes them.
before
    The least rung each field has tonight whatever its reading: last night's where it may
    not fall yet, else 0. Rain to hold is asked of the higher of the two.
gates
    Shape (fields, nights + 1): row of ``table`` of each night from tonight on.
table
    Members needed, shape (kinds of night, 3, rungs), from ``risk.hold_need``.
spans, marks
    From ``risk.windows.windows``.
mark
    Stress-day equivalents that count as running short.
members
    Without those that only fill the last block.
limits
    See ``season.hold_search.search_field``.
told
    Shape (fields, ``NTOLD``), float32; written, see ``season.night_rows.Told``.
hold
    Shape (fields, nights, 3), float64; written: low, own, high amount of each coming day.
found
    Shape (fields,), int8; written.
"""

__all__ = ["AT_TOP", "GROUP", "NTOLD", "Told", "night", "ripe_day"]
