"""Rain to hold of one field: its season run to today, then the search."""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.cache import cached
from rootbound_rules.season.hold_search import search_field
from rootbound_rules.season.kernel import NOUT, NS, begin_block, days_of_block
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import Out

OPTIONS = {"error_model": "numpy", "nogil": True}


@njit(**OPTIONS)
def stress_around(out, past, today, end, base):
    """Fill ``base`` with the held twin's stress from ``past`` days before ``today`` on."""
    for i in range(len(base)):
        d = today - past + i
        if 0 <= d < end:
            at = (d * NOUT + Out.HELD_STRESS) * B
            base[i] = out[at : at + B]
        else:
            base[i] = 0


def _hold_of_field(
    f, p, digs, counts, wx, irrigation, plant, days, held, today, end, past, asked, limits, told
):
    """Run one field to before ``today``, on to before ``end``, and search."""
    blocks, none = len(p), np.float32(0)
    begun, apart = np.empty((blocks, NS * B), np.float32), np.zeros(blocks, np.bool_)
    base = np.empty((blocks, past + end - today, B), np.float32)
    out, s = np.empty(end * NOUT * B, np.float32), np.zeros(NS * B, np.float32)
    for b in range(blocks):
        begin_block(s, f, p[b], wx[b], plant, days)
        apart[b] = days_of_block(
            s, f, p[b], digs, counts[b], wx[b], irrigation, plant, 0, today, held, False,  # noqa: FBT003  (not yet parted)
            -1, none, none, out,
        )  # fmt: skip
        begun[b] = s
        last = min(end, days)
        days_of_block(
            s, f, p[b], digs, counts[b], wx[b], irrigation, plant, today, last, held, apart[b],
            -1, none, none, out,
        )  # fmt: skip
        stress_around(out, past, today, last, base[b])
    run = (f, p, digs, counts, wx, irrigation, plant, days, held)
    return search_field(run, begun, apart, base, past, today, asked, limits, told)


hold_of_field = cached(_hold_of_field, **OPTIONS)
"""Search rain to hold of one field; see ``season.hold_search.search_field``."""
