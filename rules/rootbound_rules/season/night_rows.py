"""What a night over many fields leaves of each: shares of members, onset, days ahead, medians."""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numba import njit

from rootbound_rules.season.kernel import NOUT
from rootbound_rules.season.layout import BLOCK as B

OPTIONS = {"error_model": "numpy", "nogil": True}


class Told(IntEnum):
    """Columns of a field's row; shares are of members, days from the first simulated one."""

    HELD_14 = 0
    HELD_7 = 1
    HELD_PAST_3 = 2
    HELD_PAST_7 = 3
    FREE_14 = 4
    FREE_7 = 5
    FREE_PAST_3 = 6
    FREE_PAST_7 = 7
    HELD_RUNG = 8
    FREE_RUNG = 9
    HELD_ONSET = 10  # share of members that run short by black layer
    FREE_ONSET = 11
    HELD_ONSET_SOON = 12  # share that has by the end of the longest coming window
    FREE_ONSET_SOON = 13
    AHEAD_LOW = 14
    AHEAD_MEDIAN = 15
    AHEAD_HIGH = 16
    HELD_WATER = 17
    FREE_WATER = 18
    REACH = 19
    HELD_KNOWN = 20  # water on the last day whose weather is known
    FREE_KNOWN = 21
    HELD_PAST = 22  # stress of the longest past window, and of the season so far
    FREE_PAST = 23
    HELD_SEASON = 24
    HEAT = 25  # since planting, by the end of yesterday
    SILK = 26  # day on which half of those that come to it do; NaN where most do not
    REACH_WHOLE = 27  # share whose roots reach nearly everything
    REACH_LEAST = 28  # least of the medians of the days so far from some heat on


NTOLD = len(Told)


@njit(**OPTIONS)
def count_reaching(out, row, today, end, spans, marks, members, counts):
    """Add to ``counts`` the members of one block that reach each rung's stress tonight."""
    total = np.empty(B, np.float64)
    for c in range(len(spans)):
        begin = today if spans[c] > 0 else today + spans[c]
        until = today + spans[c] if spans[c] > 0 else today
        total[:] = 0.0
        for d in range(max(begin, 0), min(until, end)):
            at = (d * NOUT + row) * B
            for m in range(B):
                total[m] += out[at + m]
        for m in range(members):
            counts[c] += total[m] >= marks[c]


@njit(**OPTIONS)
def onsets(out, row, end, mark, members, into):
    """Day on which each member's sum passes ``mark``, with the part of that day; inf if never."""
    total = np.zeros(B, np.float64)
    onset = np.full(B, np.inf)
    for d in range(end):
        at = (d * NOUT + row) * B
        for m in range(B):
            before, lost = total[m], np.float64(out[at + m])
            passes = (before <= mark) & (before + lost > mark)
            total[m] = before + lost
            onset[m] = d + (mark - before) / max(lost, 1e-9) if passes else onset[m]
    into[:] = onset[:members]


@njit(**OPTIONS)
def sums_of(out, row, begin, end, members, into):
    """Sum one row from ``begin`` to before ``end``, one sum a member."""
    into[:] = 0.0
    for d in range(max(begin, 0), end):
        at = (d * NOUT + row) * B
        for m in range(members):
            into[m] += np.float64(out[at + m])


@njit(**OPTIONS)
def middle_of_reached(days):
    """Median of those days that are reached; NaN where more than half are not."""
    reached = days[np.isfinite(days)]
    return np.median(reached) if 2 * len(reached) >= len(days) else np.nan


@njit(**OPTIONS)
def quantile(ordered, share):
    """Quantile at Hazen's plotting positions, as for days ahead in ``risk.stress``."""
    n = len(ordered)
    at = min(max(n * share + 0.5, 1.0), np.float64(n)) - 1.0
    low = int(at)
    if low + 1 >= n or at == low:
        return ordered[low]
    if np.isinf(ordered[low + 1]):
        return ordered[low + 1]
    return ordered[low] + (at - low) * (ordered[low + 1] - ordered[low])


@njit(**OPTIONS)
def tell_onsets(held, free, soon, told):
    """Shares of members that run short, and days ahead where half of the held ones do."""
    members, short = len(held), 0
    ahead = np.empty(members, np.float64)
    rows = ((Told.HELD_ONSET, Told.HELD_ONSET_SOON), (Told.FREE_ONSET, Told.FREE_ONSET_SOON))
    for twin in range(2):
        days, by_end, by_soon = (held if twin == 0 else free), 0, 0
        for m in range(members):
            by_end += np.isfinite(days[m])
            by_soon += days[m] < soon
        told[rows[twin][0]], told[rows[twin][1]] = by_end / members, by_soon / members
    for m in range(members):
        if np.isfinite(held[m]):
            ahead[short] = free[m] - held[m]
            short += 1
    told[Told.AHEAD_LOW : Told.AHEAD_HIGH + 1] = np.nan
    if 2 * short >= members:
        ordered = np.sort(ahead[:short])
        told[Told.AHEAD_LOW] = quantile(ordered, 0.1)
        told[Told.AHEAD_MEDIAN] = quantile(ordered, 0.5)
        told[Told.AHEAD_HIGH] = quantile(ordered, 0.9)


@njit(**OPTIONS)
def raw_rung_of(counts, need):
    """The highest rung whose stress as many members reach as the ladder asks; 0 if none."""
    rung = 0
    for c in range(len(counts)):
        rung = c + 1 if counts[c] >= need[c] else rung
    return rung
