"""Lay one field's season out in the arrays the kernel reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.crop.dig import crossed_shares
from rootbound_rules.errors import RulesError
from rootbound_rules.season.height_fit import fit_height
from rootbound_rules.season.layout import BLOCK, D, F, Out, P, Wx
from rootbound_rules.season.plan import plan_digs
from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.draw import Draw
    from rootbound_rules.season.plan import DigPlan, Plan
    from rootbound_rules.season.values import FieldSeason

Single = NDArray[np.float32]
LEAST_ROOM = 1.5
"""The climate may raise the mid-season coefficient by so much, and start the crop lower."""


@dataclass(frozen=True, slots=True, eq=False)
class Packed:
    """One field's arrays, members in blocks: shapes (blocks, rows * 32) but for ``field``."""

    field: Single
    params: Single
    digs: Single
    counts: Single


def pack_field(
    season: FieldSeason, plan: Plan, draws: list[Draw], quantiles: NDArray[np.float64]
) -> Packed:
    """Pack what does not change from day to day.

    Parameters
    ----------
    season, plan
        The field and its plan.
    draws
        One a member; the last block is filled up by repeating the first members.
    quantiles
        Position of each member in a dig's posterior, shape (members,). [0-1]
    """
    order = padded(len(draws))
    blocks = len(order) // BLOCK
    params = np.empty((blocks, len(P), BLOCK), np.float32)
    for row in P:
        values = np.array([getattr(draw, row.name.lower()) for draw in draws])
        params[:, row, :] = values[order].reshape(blocks, BLOCK)
    digs = plan_digs(season, plan.first)
    rows = max(len(digs), 1)
    counts = np.empty((blocks, rows, BLOCK), np.float32)
    for k, shares in enumerate(counted_shares(season, digs, rows, quantiles)):
        counts[:, k, :] = shares[order].reshape(blocks, BLOCK)
    table = dig_table(digs, plan.class0, rows)
    return Packed(field_row(plan), params.reshape(blocks, -1), table, counts.reshape(blocks, -1))


def counted_shares(
    season: FieldSeason, digs: list[DigPlan], rows: int, quantiles: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give the share crossed that each member has of each dig, 1 where no roots were counted.

    Parameters
    ----------
    season, digs
        The field, and its digs as planned.
    rows
        How many, as for :func:`dig_table`.
    quantiles
        Position of each member in a dig's posterior, shape (members,). [0-1]

    Returns
    -------
    ndarray
        Shape (rows, members). [0-1]
    """
    shares = np.ones((rows, len(quantiles)))
    counted = [k for k, dig in enumerate(digs) if dig.counted is not None]
    if not counted:
        return shares
    found = sorted(season.digs, key=lambda dig: dig.dug_on)
    prior = load_table("wall").number("dig.prior")
    for k in counted:
        crossing, held = found[k].crossing or 0, found[k].held or 0
        shares[k] = crossed_shares(crossing, held, quantiles, prior)
    return shares


def dig_table(digs: list[DigPlan], class0: float, rows: int) -> Single:
    """Lay digs out in the columns of ``D``.

    Parameters
    ----------
    digs
        In order of their days.
    class0
        What stands for a wall that holds nothing, where nobody dug. [MPa]
    rows
        How many, one at the least; those beyond the digs lie after every day.
    """
    table = np.zeros((rows, len(D)), np.float32)
    table[0, D.WALL] = class0
    table[len(digs) or 1 :, D.DAY] = np.inf
    for k, dig in enumerate(digs):
        counted = float(dig.counted is not None)
        table[k] = [dig.day, dig.wall, counted, dig.pan, dig.pan_depth, dig.leak]
    return table


def field_row(plan: Plan) -> Single:
    """Lay a plan's numbers out in the rows of ``F``, with the fit of its crop's height factor.

    Parameters
    ----------
    plan
        Of the field.
    """
    field = np.empty(len(F), np.float32)
    field[: F.FIT_MIDDLE] = _OF_PLAN(plan)
    shortest = plan.height * plan.kcb_initial / (LEAST_ROOM * plan.kcb_mid)
    middle, scale, fitted = fit_height(shortest, plan.height)
    field[F.FIT_MIDDLE], field[F.FIT_SCALE] = middle, scale
    field[F.FIT_0 :] = fitted
    return field


def padded(members: int) -> NDArray[np.int64]:
    """Members in the order of the blocks, the last block filled up from the first."""
    blocks = -(-members // BLOCK)
    return np.arange(blocks * BLOCK) % members


def pack_weather(
    demand: Demand,
    plan: Plan,
    known_through: date,
    days: int,
    years: list[int],
    coming: tuple[ComingDays, NDArray[np.int64]] | None = None,
) -> Single:
    """Weather of each member: the known days, the forecast, then the days of a past year.

    Parameters
    ----------
    demand
        The cell's days, past years included.
    plan
        Of the field: its first simulated day, and the year that the members' years stand for.
    known_through
        Last day of real weather of this season; may lie before the first simulated day.
    days
        Days to simulate.
    years
        The past year of each member; its calendar days follow the known and forecast ones.
    coming
        The forecast and the trace that each member takes of it; None where there is none.

    Returns
    -------
    ndarray
        Shape (blocks, days * rows * 32), float32.

    Raises
    ------
    RulesError
        If the forecast does not begin on the day after the last known one.
    """
    order = padded(len(years))
    index = np.empty((days, len(years)), np.int64)
    first, season_year = plan.first, plan.planted.year
    known = known_days(first, known_through, days)
    index[:known] = demand.index(first) + np.arange(known)[:, None]
    for m, year in enumerate(years):
        begin = demand.index(same_day(first + timedelta(days=known), season_year, year))
        index[known:, m] = begin + np.arange(days - known)
    index = np.minimum(index, len(demand) - 1)
    cube = np.empty((days, len(Wx), len(order)), np.float32)
    traces = None if coming is None else _checked(coming, known_through)
    for row, name in _ROWS.items():
        values = getattr(demand, name)[index]
        if traces is not None:
            _lay_forecast(values, getattr(traces[0], name), traces[1], known, first, known_through)
        if row is Wx.GDD:
            values = np.cumsum(values, axis=0)
        cube[:, row] = values[:, order]
    return in_blocks(cube)


_OF_PLAN = attrgetter(*(row.name.lower() for row in F if row < F.FIT_MIDDLE))
_ROWS = {Wx.RAIN: "rain_mm", Wx.ET0: "et0_mm", Wx.CLIMATE: "climate", Wx.GDD: "gdd_f"}


def _checked(
    coming: tuple[ComingDays, NDArray[np.int64]], known_through: date
) -> tuple[ComingDays, NDArray[np.int64]]:
    """Refuse a forecast that leaves a gap or overlaps what is known."""
    wanted = known_through + timedelta(days=1)
    if coming[0].start != wanted:
        raise RulesError(f"the forecast begins on {coming[0].start}, wanted {wanted}")
    return coming


def _lay_forecast(
    values: NDArray[np.float64],
    told: NDArray[np.float64],
    trace: NDArray[np.int64],
    known: int,
    first: date,
    known_through: date,
) -> None:
    """Put each member's trace over the days after the known ones."""
    skip = max((first - known_through).days - 1, 0)  # forecast days before the first simulated
    part = told[trace, skip:].T[: len(values) - known]
    values[known : known + len(part)] = part


def known_days(first: date, known_through: date, days: int) -> int:
    """How many of the simulated days have real weather."""
    return max(min((known_through - first).days + 1, days), 0)


def same_day(day: date, season_year: int, year: int) -> date:
    """The calendar day of ``day`` in the season that began in ``year``; 29 Feb becomes the 28th."""
    target = year + (day.year - season_year)
    try:
        return day.replace(year=target)
    except ValueError:
        return day.replace(year=target, day=28)


def in_blocks(cube: Single) -> Single:
    """Turn (days, rows, members) into (blocks, days * rows * 32)."""
    days, rows, members = cube.shape
    blocks = members // BLOCK
    split = cube.reshape(days, rows, blocks, BLOCK).transpose(2, 0, 1, 3)
    return np.ascontiguousarray(split).reshape(blocks, -1)


def out_of_blocks(flat: Single, days: int, members: int, rows: int = len(Out)) -> Single:
    """Turn (blocks, days * rows * 32), as the kernel writes it, into (days, rows, members)."""
    cube = flat.reshape(-1, days, rows, BLOCK).transpose(1, 2, 0, 3)
    return cube.reshape(days, rows, -1)[:, :, :members]
