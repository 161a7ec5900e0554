"""Draws of what is uncertain, one for each member of the outlook.

Low-discrepancy (Sobol) points, the same for the same seed on every machine.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from rootbound_rules.crop.table import crop_table
from rootbound_rules.season.plan import Draw, central_draw, steepest_drying
from rootbound_rules.season.values import Soil
from rootbound_rules.tables import Row, load_table

DIMENSIONS = 9
"""Available water, diffusivity, Q50, slot, widening, late rate, dig, mid coefficient, drying."""

_TRACES = 1
"""Keeps the order of the traces apart from other draws of the same seed."""


@lru_cache(maxsize=4096)  # a field's members are the same all season
def sobol_points(count: int, seed: int) -> NDArray[np.float64]:
    """Return ``count`` points of shape (count, 9), each strictly inside (0, 1).

    Parameters
    ----------
    count
        How many; the next power of two is drawn and cut.
    seed
        Of the scrambling.
    """
    power = max(int(np.ceil(np.log2(max(count, 2)))), 1)
    engine = qmc.Sobol(DIMENSIONS, scramble=True, rng=np.random.default_rng(seed))
    points: NDArray[np.float64] = engine.random_base2(power)[:count]
    held = np.clip(points, 1e-4, 1.0 - 1e-4)
    held.flags.writeable = False
    return held


def share_out(traces: int, members: int, seed: int) -> NDArray[np.int64]:
    """Give each member one trace of a forecast: evenly, in an order of the seed's own.

    Parameters
    ----------
    traces
        How many the forecast has.
    members
        How many members there are.
    seed
        Of the order; without it the newest years would always meet the first traces.
    """
    order = np.random.default_rng((seed, _TRACES)).permutation(members)
    return np.asarray(order % traces, np.int64)


def spread(row: Row, share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Values of a row at shares of its range, its own value in the middle.

    Straight in the logarithm from the low end to the value and from there to the high end,
    so that half of the members lie on either side of the table's number.

    Parameters
    ----------
    row
        A row with a range.
    share
        Positions. [0-1]
    """
    low, high = row.low or row.number, row.high or row.number
    under = low * (row.number / low) ** (2.0 * share)
    over = row.number * (high / row.number) ** (2.0 * share - 1.0)
    return np.where(share < 0.5, under, over)


def draw_members(soil: Soil, points: NDArray[np.float64], crop: str = "maize") -> list[Draw]:
    """Return one draw a member.

    Parameters
    ----------
    soil
        The field's soil, around which water and diffusivity spread.
    points
        From :func:`sobol_points`, shape (members, 9).
    crop
        Whose coefficient spreads over its row's range.
    """
    season, wall, middle = load_table("season"), load_table("wall"), central_draw(soil, crop)
    half_width, factor = season.number("spread.available"), season.number("spread.diffusivity")
    columns = (
        middle.available * (1.0 + half_width * (2.0 * points[:, 0] - 1.0)),
        middle.diffusivity * factor ** (2.0 * points[:, 1] - 1.0),
        spread(wall.row("wall.halving_mpa"), points[:, 2]),
        spread(wall.row("wall.slot_cm"), points[:, 3]),
        spread(wall.row("wall.widening"), points[:, 4]),
        spread(wall.row("wall.late_rate"), points[:, 5]),
        spread(crop_table(crop).row("kcb.mid"), points[:, 7]),
        spread(wall.row("wall.drying_share"), points[:, 8]) * steepest_drying(soil),
    )
    return [Draw(*map(float, member)) for member in zip(*columns, strict=True)]
