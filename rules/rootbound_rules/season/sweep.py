"""Many fields at once, in parallel: from packed arrays to what the ladder reads.

Each field's days stay in the scratch of one thread; only a few sums a member leave it.
"""

from __future__ import annotations

import os
from enum import IntEnum

import numpy as np
from numba import njit, prange

from rootbound_rules.season.cache import cached
from rootbound_rules.season.kernel import NOUT, NS, season_of_block
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import F, Out

OPTIONS = {"fastmath": True, "error_model": "numpy", "nogil": True}


class Red(IntEnum):
    """Rows of what a sweep leaves of each field and member."""

    HELD_14 = 0
    HELD_7 = 1
    HELD_PAST_3 = 2
    HELD_PAST_7 = 3
    FREE_14 = 4
    FREE_7 = 5
    FREE_PAST_3 = 6
    FREE_PAST_7 = 7
    HELD_ONSET = 8
    FREE_ONSET = 9
    HELD_WATER = 10
    FREE_WATER = 11
    REACH = 12


NRED = len(Red)


@njit(**OPTIONS)
def _sum_days(out, row, begin, end, days, into):
    """Sum one row of ``out`` from ``begin`` to before ``end`` into ``into``."""
    for m in range(B):
        into[m] = 0
    for d in range(max(begin, 0), min(end, days)):
        day = out[(d * NOUT + row) * B : (d * NOUT + row + 1) * B]
        for m in range(B):
            into[m] += day[m]


@njit(**OPTIONS)
def _onset(out, row, days, mark, total, into):
    """Day on which the sum of one row passes ``mark``; ``days`` where it does not."""
    for m in range(B):
        total[m] = 0
        into[m] = days
    for d in range(days):
        day = out[(d * NOUT + row) * B : (d * NOUT + row + 1) * B]
        for m in range(B):
            before = total[m]
            total[m] = before + day[m]
            into[m] = d if (before <= mark) & (total[m] > mark) else into[m]


@njit(**OPTIONS)
def _reduce(out, red, total, today, days, mark):
    """All rows of ``Red`` for one field and block."""
    held, free = Out.HELD_STRESS, Out.FREE_STRESS
    _sum_days(out, held, today, today + 14, days, red[Red.HELD_14])
    _sum_days(out, held, today, today + 7, days, red[Red.HELD_7])
    _sum_days(out, held, today - 3, today, days, red[Red.HELD_PAST_3])
    _sum_days(out, held, today - 7, today, days, red[Red.HELD_PAST_7])
    _sum_days(out, free, today, today + 14, days, red[Red.FREE_14])
    _sum_days(out, free, today, today + 7, days, red[Red.FREE_7])
    _sum_days(out, free, today - 3, today, days, red[Red.FREE_PAST_3])
    _sum_days(out, free, today - 7, today, days, red[Red.FREE_PAST_7])
    _onset(out, held, days, mark, total, red[Red.HELD_ONSET])
    _onset(out, free, days, mark, total, red[Red.FREE_ONSET])
    yesterday = max(today - 1, 0)
    _sum_days(out, Out.HELD_WATER, yesterday, yesterday + 1, days, red[Red.HELD_WATER])
    _sum_days(out, Out.FREE_WATER, yesterday, yesterday + 1, days, red[Red.FREE_WATER])
    _sum_days(out, Out.REACH, yesterday, yesterday + 1, days, red[Red.REACH])


def _sweep(fields, params, digs, counts, cells, weather, irrigation, plant, held, today, mark, red):
    """Every field and block; each thread keeps one field's days in its own scratch."""
    days = irrigation.shape[1]
    blocks = params.shape[1]
    for i in prange(fields.shape[0]):
        scratch = np.empty(NS * B, np.float32)
        out = np.empty(days * NOUT * B, np.float32)
        total = np.empty(B, np.float32)
        for b in range(blocks):
            season_of_block(
                scratch, fields[i], params[i, b], digs[i], counts[i, b], weather[cells[i], b],
                irrigation[min(np.int64(i), irrigation.shape[0] - 1)], plant[i], days, held[i], out,
            )  # fmt: skip
            _reduce(out, red[i, b], total, today[i], days, mark)


sweep = cached(_sweep, parallel=True, **OPTIONS)
"""Run many fields.

Parameters
----------
fields
    Shape (fields, rows of ``F``), float32.
params, counts
    Shapes (fields, blocks, rows * 32) and (fields, blocks, digs * 32), float32.
digs
    Shape (fields, digs, columns of ``D``), float32.
cells
    Row of ``weather`` of each field, sorted so that neighbours share it.
weather
    Shape (cells, blocks, days * rows * 32), float32.
irrigation
    Shape (fields or 1, days), float32.
plant, held, today
    Day of planting, whether anything holds the roots, today: one a field.
mark
    Stress-day equivalents that count as running short.
red
    Shape (fields, blocks, rows of ``Red``, 32), float32; written.
"""


def threads() -> int:
    """Return how many processors the sweep may use."""
    return len(os.sched_getaffinity(0))


__all__ = ["NRED", "F", "Red", "sweep", "threads"]
