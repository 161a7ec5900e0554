"""Whether a field climbs, and by how much: windows of stress held against the ladder's marks.

What climbs is told by ``need``: how many members must reach a window's mark on a night. It
comes from the ladder, night by night, once for each of three shares of members: those few
who must be left short for the low amount, the ladder's own, and those for the high amount.
A margin says by how much the deciding member of the worst window is over its mark; the
field climbs where it is not below 0.

``asked`` everywhere is ``(rung, need, spans, marks, members)``: only rungs above ``rung``
count; ``need`` has shape (3, nights + 1, rungs), more than ``members`` where a stage rules a
rung out; ``spans`` are the rungs' windows, coming days above 0 and past ones below;
``marks`` their stress; ``members`` leaves out those that only fill the last block.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.layout import BLOCK as B

OPTIONS = {"error_model": "numpy", "nogil": True}
LOW, OWN, HIGH = 0, 1, 2
"""Shares of members: first axis of ``need``."""


@njit(**OPTIONS)
def sum_up(stress, sums):
    """Stress of all days before each row, in float64: windows are differences."""
    blocks, rows = stress.shape[0], stress.shape[1]
    for b in range(blocks):
        for m in range(B):
            sums[b, 0, m] = 0.0
        for d in range(rows):
            for m in range(B):
                sums[b, d + 1, m] = sums[b, d, m] + stress[b, d, m]


@njit(**OPTIONS)
def _window(sums, row, span, members, values):
    """Stress of the coming ``span`` days from ``row`` on, or of the past ones if below 0."""
    begin, end = (row, row + span) if span > 0 else (row + span, row)
    most = 0.0
    for b in range(sums.shape[0]):
        for m in range(min(B, members - b * B)):
            value = sums[b, end, m] - sums[b, begin, m]
            values[b * B + m] = value
            most = max(most, value)
    return most


@njit(**OPTIONS)
def _over(values, members, need, mark, most, over):
    """By how much the ``need``-th highest member is over ``mark``, for each share of members."""
    least = np.full(3, most)
    for m in range(members if most > 0.0 else 0):
        above, mine = 0, values[m]
        for other in range(members):
            above += values[other] > mine
        for t in range(3):
            if above < need[t] and mine < least[t]:
                least[t] = mine
    for t in range(3):
        if need[t] <= members:
            over[t] = max(over[t], least[t] - mark)


@njit(**OPTIONS)
def margins(sums, past, first, last, asked, over):
    """Largest margin over the nights ``first`` to ``last``, for each share of members.

    ``sums`` from :func:`sum_up`; its row ``past`` is where today begins.
    """
    rung, need, spans, marks, members = asked
    values = np.empty(members, np.float64)
    for t in range(3):
        over[t] = -np.inf
    for night in range(first, last + 1):
        for c in range(rung, len(spans)):
            if need[HIGH, night, c] <= members:
                most = _window(sums, past + night, spans[c], members, values)
                _over(values, members, need[:, night, c], marks[c], most, over)


@njit(**OPTIONS)
def first_climb(sums, past, nights, asked):
    """The first coming night on which the field climbs as things are; 0 if none."""
    over = np.empty(3)
    for night in range(1, nights + 1):
        margins(sums, past, night, night, asked, over)
        if over[OWN] >= 0.0:
            return night
    return 0


@njit(**OPTIONS)
def days_looked_at(nights, asked):
    """Days from today on that any window in question reaches."""
    rung, need, spans, _, members = asked
    reach = 0
    for c in range(rung, len(spans)):
        for night in range(1, nights + 1):
            if need[HIGH, night, c] <= members:
                reach = max(reach, night + max(spans[c], 0))
    return reach
