"""The smallest rain on one coming day that keeps a field from climbing, by search on the model.

The search keeps, for each of three shares of members, an amount that climbs and one that
holds; every trial narrows all three. The next trial is where a straight line between the
two margins meets the mark, or a middle where that line was of little use.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.hold_days import NPLANT, NS, record_plant, replay
from rootbound_rules.season.hold_margin import (
    HIGH,
    LOW,
    OWN,
    days_looked_at,
    first_climb,
    margins,
    sum_up,
)
from rootbound_rules.season.layout import BLOCK as B

OPTIONS = {"error_model": "numpy", "nogil": True}
NO_CLIMB, FOUND, NEVER = 0, 1, 2
"""What a search tells."""
MOST_TRIES = 60
ORDER = np.array([OWN, LOW, HIGH])
"""The own amount first: the other two lie on either side of it."""


@njit(**OPTIONS)
def _propose(low, high, over_low, over_high, least, halve):
    """An amount between one that climbs and one that holds."""
    if halve:
        return np.sqrt(low * high) if low > 0.1 * high else 0.7 * low + 0.3 * high
    at = low + (high - low) * over_low / (over_low - over_high)
    at += 0.4 * least if at - low < high - at else -0.4 * least  # past the mark, to close in
    return min(max(at, low + 0.4 * least), high - 0.4 * least)


@njit(**OPTIONS)
def _next_amount(ends, overs, guess, most, least, halve):
    """What to try next on one bracket."""
    low, high = ends[0], ends[1]
    if np.isfinite(high):
        return _propose(low, high, overs[0], overs[1], least, halve)
    return guess if low < guess < most else most


@njit(**OPTIONS)
def _narrow(amount, over, ends, overs):
    """Let one trial narrow the brackets of all three shares; column 0 climbs, 1 holds."""
    for t in range(3):
        if ends[t, 0] < amount < ends[t, 1]:
            side = 0 if over[t] >= 0.0 else 1
            ends[t, side], overs[t, side] = amount, over[t]


@njit(**OPTIONS)
def _bracket(t, trial, run, asked, days, limits, guess, ends, overs):
    """Narrow the bracket of one share of members until it is narrow enough."""
    most, _, share, width_mm, _ = limits
    over = np.empty(3)
    before, halve = np.inf, False
    for _ in range(MOST_TRIES):
        now = ends[t, 1] - ends[t, 0]
        least = max(share * min(ends[t, 1], most), width_mm)
        if now <= least or ends[t, 0] >= most:
            return
        halve = now > 0.5 * before and not halve
        before = now
        amount = np.float32(_next_amount(ends[t], overs[t], guess, most, least, halve))
        _try(amount, trial, run, asked, days, limits, over)
        _narrow(np.float64(amount), over, ends, overs)


@njit(**OPTIONS)
def _try(amount, trial, run, asked, days, limits, over):
    """Margins with an amount on one day; ``trial`` is that day and the nights it is judged on."""
    k, nights = trial
    f, p, digs, counts, wx, irrigation, _, _, held = run
    plants, growing, states, parted, stress, sums, past, today, last = days
    zero = np.float32(0)
    rain, water = (zero, amount) if limits[4] > 0 else (amount, zero)
    s, nothing = np.empty(NS * B, np.float32), np.empty((0, NS * B), np.float32)
    for b in range(len(states)):
        s[:] = states[b, k]
        replay(
            s, f, p[b], digs, counts[b], wx[b], irrigation, held, parted[b, k], plants[b],
            growing[b], today, today + k, last, today + k, rain, water, past, stress[b],
            nothing, parted[b, :0],
        )  # fmt: skip
    sum_up(stress, sums)
    margins(sums, past, k, nights, asked, over)


@njit(**OPTIONS)
def _record(run, begun, apart, base, sums, past, today, last, keep):
    """Canopy and growth of the coming days, and the states before the first ``keep`` of them."""
    f, p, digs, counts, wx, irrigation, plant, _, held = run
    blocks, zero = len(begun), np.float32(0)
    plants = np.empty((blocks, last - today, NPLANT * B), np.float32)
    growing = np.empty((blocks, last - today), np.float32)
    states = np.empty((blocks, keep, NS * B), np.float32)
    parted = np.zeros((blocks, keep), np.bool_)
    stress, s = base.copy(), np.empty(NS * B, np.float32)
    for b in range(blocks):
        record_plant(begun[b], f, wx[b], plant, today, last, plants[b], growing[b])
        s[:] = begun[b]
        replay(
            s, f, p[b], digs, counts[b], wx[b], irrigation, held, apart[b], plants[b],
            growing[b], today, today, today + keep, -1, zero, zero, past, stress[b],
            states[b], parted[b],
        )  # fmt: skip
    return plants, growing, states, parted, stress, sums, past, today, last


@njit(**OPTIONS)
def search_field(run, begun, apart, base, past, today, asked, limits, told):
    """Search the amount of each coming day; return what was found.

    Parameters
    ----------
    run
        ``(f, p, digs, counts, wx, irrigation, plant, days, held)`` as the kernel has them,
        all blocks of one field.
    begun, apart
        State of each block before ``today``, and whether its twins have parted.
    base
        Stress as things are, shape (blocks, past + coming days, 32), from ``past`` days
        before ``today``; 0 on days beyond the season.
    asked
        See :mod:`rootbound_rules.season.hold_margin`.
    limits
        Most amount, first guess, width that is narrow enough as a share and in mm, and 1
        where the amount is net water instead of rain.
    told
        Shape (nights, 3), written: low, own, high; NaN where no amount does.
    """
    told[:] = np.nan
    nights = len(told)
    sums = np.empty((base.shape[0], base.shape[1] + 1, B), np.float64)
    sum_up(base, sums)
    climbs = first_climb(sums, past, nights, asked)
    if climbs == 0:
        return NO_CLIMB
    last = min(today + days_looked_at(nights, asked), run[7])
    keep = min(climbs + 1, last - today)
    days = _record(run, begun, apart, base, sums, past, today, last, keep)
    ends, overs, over = np.empty((3, 2)), np.empty((3, 2)), np.empty(3)
    found, guess = NEVER, limits[1]
    for k in range(1, keep):  # no rain mends a climb on a night before it
        sum_up(base, sums)
        margins(sums, past, k, nights, asked, over)
        for t in range(3):
            ends[t, 0], ends[t, 1] = 0.0, np.inf if over[t] >= 0.0 else 0.0
            overs[t, 0], overs[t, 1] = over[t], over[t]
        days[4][:] = base
        for turn in range(3):
            t = ORDER[turn]
            _bracket(t, (k, nights), run, asked, days, limits, guess, ends, overs)
            if np.isfinite(ends[t, 1]):
                told[k - 1, t] = ends[t, 1]
        if np.isfinite(ends[OWN, 1]):
            found, guess = FOUND, ends[OWN, 1]
    return found


__all__ = ["FOUND", "HIGH", "LOW", "NEVER", "NO_CLIMB", "OWN", "search_field"]
