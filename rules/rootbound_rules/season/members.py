"""Draws of what is uncertain, one for each member of the outlook.

Low-discrepancy (Sobol) points, the same for the same seed on every machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from rootbound_rules.crop.table import crop_table
from rootbound_rules.season.draw import Draw, central_draw, steepest_drying
from rootbound_rules.season.values import Soil
from rootbound_rules.tables import Row, load_table

DIMENSIONS = 9
"""Available water, diffusivity, Q50, slot, widening, late rate, dig, mid coefficient, drying."""

NETS, BITS = 64, 30
"""Scrambled nets to choose from; digits of a point, as scipy's nets have them."""
Points = NDArray[np.float64]


def sobol_points(count: int, seed: int) -> Points:
    """Return ``count`` points of shape (count, 9), each strictly inside (0, 1).

    Parameters
    ----------
    count
        How many; the next power of two is drawn and cut.
    seed
        Of the shift, and of which scrambled net is shifted.
    """
    points: Points = points_of(count, np.array([seed]))[0]
    return points


def points_of(count: int, seeds: NDArray[np.int64]) -> Points:
    """Return the points of many seeds at once, shape (seeds, count, 9).

    Each seed takes one of a few scrambled nets and shifts its digits: a digital shift keeps a
    net a net, and makes every point uniform by itself. To scramble a net for every field cost
    more than the field's whole season.

    Parameters
    ----------
    count
        As for :func:`sobol_points`.
    seeds
        One a field.

    References
    ----------
    ``matousek_1998``: scrambled nets and digital shifts.
    """
    power = max(int(np.ceil(np.log2(max(count, 2)))), 1)
    words = splitmix(seeds, DIMENSIONS + 1)
    nets = _nets(power)[words[:, DIMENSIONS] % np.uint64(NETS), :count]
    shifts = (words[:, None, :DIMENSIONS] >> np.uint64(64 - BITS)).astype(np.uint32)
    points = ((nets ^ shifts).astype(np.float64) + 0.5) / 2.0**BITS
    return np.clip(points, 1e-4, 1.0 - 1e-4)


@lru_cache(maxsize=8)
def _nets(power: int) -> NDArray[np.uint32]:
    """The scrambled nets, their digits as numbers, shape (nets, points, dimensions)."""
    made = [
        qmc.Sobol(DIMENSIONS, scramble=True, bits=BITS, rng=np.random.default_rng((power, net)))
        for net in range(NETS)
    ]
    return np.stack([net.random_base2(power) * 2.0**BITS for net in made]).astype(np.uint32)


def splitmix(seeds: NDArray[np.int64], count: int) -> NDArray[np.uint64]:
    """Return the first ``count`` numbers of the SplitMix64 generator of each seed.

    Parameters
    ----------
    seeds
        One a row.
    count
        How many.

    References
    ----------
    ``steele_2014_splitmix``: fig. 17.
    """
    state = seeds.astype(np.uint64)[:, None]
    words = state + np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    words = (words ^ (words >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    words = (words ^ (words >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return np.asarray(words ^ (words >> np.uint64(31)))


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
    shared: NDArray[np.int64] = share_out_many(traces, members, np.array([seed]))[0]
    return shared


def share_out_many(traces: int, members: int, seeds: NDArray[np.int64]) -> NDArray[np.int64]:
    """Share the traces out for many seeds at once, shape (seeds, members).

    Parameters
    ----------
    traces, members
        As for :func:`share_out`.
    seeds
        One a field.
    """
    order = splitmix(~seeds, members).argsort(axis=1)
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


def draw_members(soil: Soil, points: Points, crop: str = "maize") -> list[Draw]:
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
    columns = draw_rows([soil], points[None], crop)[0]
    return [Draw(*map(float, member)) for member in columns.T]


def draw_rows(soils: Sequence[Soil], points: Points, crop: str = "maize") -> Points:
    """Return the draws of fields that grow the same crop.

    Parameters
    ----------
    soils
        One a field.
    points
        From :func:`points_of`, shape (fields, members, 9).
    crop
        As for :func:`draw_members`.

    Returns
    -------
    ndarray
        Shape (fields, rows of ``season.layout.P``, members).
    """
    season, wall = load_table("season"), load_table("wall")
    half_width, factor = season.number("spread.available"), season.number("spread.diffusivity")
    middle = [central_draw(soil, crop) for soil in soils]
    available = np.array([one.available for one in middle])[:, None]
    diffusivity = np.array([one.diffusivity for one in middle])[:, None]
    steepest = np.array([steepest_drying(soil) for soil in soils])[:, None]
    columns = (
        available * (1.0 + half_width * (2.0 * points[..., 0] - 1.0)),
        diffusivity * factor ** (2.0 * points[..., 1] - 1.0),
        spread(wall.row("wall.halving_mpa"), points[..., 2]),
        spread(wall.row("wall.slot_cm"), points[..., 3]),
        spread(wall.row("wall.widening"), points[..., 4]),
        spread(wall.row("wall.late_rate"), points[..., 5]),
        spread(crop_table(crop).row("kcb.mid"), points[..., 7]),
        spread(wall.row("wall.drying_share"), points[..., 8]) * steepest,
    )
    return np.stack(columns, axis=1)
