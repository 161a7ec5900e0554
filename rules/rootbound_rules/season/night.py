"""A night over many fields in parallel: both twins, the chances, and rain to hold.

Each group of fields has one scratch, in which a field's weather and days live; only a row a
field leaves it, so that memory does not grow with the number of days or members. A caller
with very many fields gives them in chunks.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from rootbound_rules.season.cache import cached
from rootbound_rules.season.hold import stress_around
from rootbound_rules.season.hold_search import search_field
from rootbound_rules.season.kernel import NOUT, NS, NWX, begin_block, days_of_block
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import F, Out
from rootbound_rules.season.night_rows import (
    NTOLD,
    Told,
    count_reaching,
    middle_of_reached,
    onsets,
    raw_rung_of,
    sums_of,
    tell_onsets,
)
from rootbound_rules.season.night_sky import days_until, heat_since, lay_weather, ripe_day

OPTIONS = {"error_model": "numpy", "nogil": True}
GROUP = 64
"""Fields that share a scratch, one after the other."""
NOT_ASKED, AT_TOP = 4, 3
"""Told of a field whose rain to hold is not searched, or that has no rung above its own; else
what ``hold_search`` tells."""
HELD_DAY, FREE_DAY, HELD_YESTERDAY, FREE_YESTERDAY, REACH_YESTERDAY = 0, 1, 2, 3, 4
HELD_THEN, FREE_THEN, HELD_SUM, FREE_SUM, SEASON_SUM, HEAT, SILK = 5, 6, 7, 8, 9, 10, 11
NEACH = 12
"""What is kept of each member until a field's row is filled."""


@njit(**OPTIONS)
def _need_of(gates, table, need):
    """Lay the members needed on each night side by side."""
    for night in range(len(gates)):
        need[:, night, :] = table[gates[night]]


@njit(**OPTIONS)
def _on_day(out, row, day, members, into):
    """Add one block's members of one row to ``into``."""
    at = (max(day, 0) * NOUT + row) * B
    into[:] = out[at : at + members]


@njit(**OPTIONS)
def _keep(out, today, known, past, mark, end, mine, reach, each):
    """What the reductions read of one block."""
    onsets(out, Out.HELD_STRESS, end, mark, mine, each[HELD_DAY])
    onsets(out, Out.FREE_STRESS, end, mark, mine, each[FREE_DAY])
    _on_day(out, Out.HELD_WATER, today - 1, mine, each[HELD_YESTERDAY])
    _on_day(out, Out.FREE_WATER, today - 1, mine, each[FREE_YESTERDAY])
    _on_day(out, Out.REACH, today - 1, mine, each[REACH_YESTERDAY])
    at = min(today - 1, known - 1)
    _on_day(out, Out.HELD_WATER, at, mine, each[HELD_THEN])
    _on_day(out, Out.FREE_WATER, at, mine, each[FREE_THEN])
    sums_of(out, Out.HELD_STRESS, today - past, today, mine, each[HELD_SUM])
    sums_of(out, Out.FREE_STRESS, today - past, today, mine, each[FREE_SUM])
    sums_of(out, Out.HELD_STRESS, 0, today, mine, each[SEASON_SUM])
    for d in range(today):
        reach[d] = out[(d * NOUT + Out.REACH) * B : (d * NOUT + Out.REACH) * B + mine]


@njit(**OPTIONS)
def _run_blocks(
    run, today, known, past, asked, mark, scratch, begun, apart, base, reach, each, counts
):
    """Both twins of one field to the end, block by block, keeping what the reductions read."""
    f, p, digs, seen, wx, irrigation, plant, end, held = run
    s, out = scratch
    spans, marks, members = asked
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
        _keep(out, today, known, past, mark, end, mine, reach[:, here], each[:, here])


@njit(**OPTIONS)
def _tell(counts, each, soon, told):
    """Fill a field's row but for its roots."""
    members = each.shape[1]
    for c in range(4):
        told[Told.HELD_14 + c] = counts[0, c] / members
        told[Told.FREE_14 + c] = counts[1, c] / members
    tell_onsets(each[HELD_DAY], each[FREE_DAY], soon, told)
    for k in range(3):
        told[Told.HELD_WATER + k] = np.median(each[HELD_YESTERDAY + k])
    for k in range(6):
        told[Told.HELD_KNOWN + k] = np.median(each[HELD_THEN + k])
    told[Told.SILK] = middle_of_reached(each[SILK])


@njit(**OPTIONS)
def _tell_roots(reach, wx, plant, today, known, heat, whole, told):
    """How far the roots reach now, and the least they did since the crop was far enough."""
    last = max(today - 1, 0)
    told[Told.REACH_WHOLE] = (reach[last] >= whole).mean()
    told[Told.REACH_LEAST] = 1.0
    since = np.empty(1)
    for d in range(plant, today):
        heat_since(wx, plant, min(d, max(known - 1, 0)), 1, since)
        if since[0] >= heat:
            told[Told.REACH_LEAST] = min(told[Told.REACH_LEAST], np.median(reach[d]))


def _night(fields, sky, coming, asked, search, told, hold, found):
    """Every field; see ``night``."""
    rows, params, digs, counts, irrigation, plant, held, today, heats = fields
    skies, sky_of, first, known, begins = sky
    traces, coming_of, trace, skip = coming
    spans, marks, mark, whole, members = asked
    before, gates, table, limits = search
    days, blocks, nights = irrigation.shape[1], params.shape[1], hold.shape[1]
    past, ahead = -spans.min(), spans.max()
    for group in prange((len(rows) + GROUP - 1) // GROUP):
        s, out = np.zeros(NS * B, np.float32), np.empty(days * NOUT * B, np.float32)
        wx = np.empty((blocks, days * NWX * B), np.float32)
        begun, apart = np.empty((blocks, NS * B), np.float32), np.zeros(blocks, np.bool_)
        base = np.empty((blocks, past + nights + ahead, B), np.float32)
        each, reached = np.empty((NEACH, members), np.float64), np.empty((2, 4), np.int64)
        reach = np.empty((days, members), np.float32)
        need = np.empty((3, nights + 1, 4), np.int64)
        for i in range(group * GROUP, min((group + 1) * GROUP, len(rows))):
            f, t = rows[i], today[i]
            lay_weather(
                skies[sky_of[i]], first[i], known[i], begins[i], traces[coming_of[i]], trace[i],
                skip[i], members, wx,
            )  # fmt: skip
            heat_since(wx, plant[i], max(t - 1, 0), members, each[HEAT])
            days_until(wx, plant[i], heats[i, 0], members, each[SILK])
            water = irrigation[min(np.int64(i), irrigation.shape[0] - 1)]
            end = max(ripe_day(f[F.MATURITY], wx, plant[i], days), t)
            run = (f, params[i], digs[i], counts[i], wx, water, plant[i], end, held[i])
            _run_blocks(
                run, t, known[i], past, (spans, marks, members), mark, (s, out), begun, apart,
                base, reach, each, reached,
            )  # fmt: skip
            _tell(reached, each, t + ahead, told[i])
            if held[i]:
                _tell_roots(reach, wx, plant[i], t, known[i], heats[i, 1], whole, told[i])
            else:
                told[i, Told.REACH_WHOLE], told[i, Told.REACH_LEAST] = 1.0, 1.0
            found[i] = NOT_ASKED
            if nights == 0:
                continue
            _need_of(gates[i], table, need)
            told[i, Told.HELD_RUNG] = raw_rung_of(reached[0], need[1, 0])
            told[i, Told.FREE_RUNG] = raw_rung_of(reached[1], need[1, 0])
            rung = max(np.int64(told[i, Told.HELD_RUNG]), before[i])
            if rung >= 4:
                hold[i], found[i] = np.nan, AT_TOP
            else:
                wanted = (rung, need, spans, marks, members)
                found[i] = search_field(run, begun, apart, base, past, t, wanted, limits, hold[i])


night = cached(_night, parallel=True, **OPTIONS)
"""Run a night over many fields.

Parameters
----------
fields
    Tuple: rows of ``F``, params, digs, counts, irrigation, plant, held, today as
    ``season.sweep.sweep`` takes them, and heat units of silk and of the first day on which
    the reach is looked at, shape (fields, 2).
sky
    Tuple: cells' days, shape (cells, days, 4) in the columns of ``Wx`` with heat not summed;
    of each field its cell, position of its first simulated day, how many days are known, and
    position of the day after those in each member's past year, shape (fields, members).
coming
    Tuple: forecasts, shape (forecasts, traces, days, 4), no days where there is none; of each
    field its forecast, the trace of each member, and forecast days to skip.
asked
    Tuple: spans and marks from ``risk.windows.windows``, stress-day equivalents that count as
    running short, reach that is nearly whole, members without those that only fill a block.
search
    Tuple: the least rung each field has tonight whatever its reading; row of the table of each
    night from tonight on, shape (fields, nights + 1); members needed, shape (kinds of night, 3,
    rungs), from ``risk.hold_need``; limits, see ``season.hold_search.search_field``.
told
    Shape (fields, ``NTOLD``), float64; written, see ``season.night_rows.Told``. Rungs are told
    only where rain to hold is searched.
hold
    Shape (fields, nights, 3), float64; written: low, own, high amount of each coming day. With
    no nights nothing is searched.
found
    Shape (fields,), int8; written.
"""

__all__ = ["AT_TOP", "GROUP", "NOT_ASKED", "NTOLD", "Told", "night"]
