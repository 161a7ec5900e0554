"""All checks of one answer, in their order; a later one leaves out what an earlier ruled out.

The structure of an answer (every day once, none beyond those asked for) is checked where it
is read; what a service changes later is found where it is stored.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.calendar_slots import slots_of
from rootbound_service.weather.normals import FEWEST_YEARS
from rootbound_service.weather.quality.climate import check_climate, check_own_climate
from rootbound_service.weather.quality.cross import check_cross
from rootbound_service.weather.quality.internal import check_internal
from rootbound_service.weather.quality.limits import check_limits, check_naught
from rootbound_service.weather.quality.radiation import check_radiation
from rootbound_service.weather.quality.scale import (
    Witness,
    check_scale,
    other_witness,
    own_witness,
    usual_witness,
)
from rootbound_service.weather.quality.series import check_step, check_stuck
from rootbound_service.weather.quality.sheet import Sheet

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.weather.day import Block
    from rootbound_service.weather.normals import Normals
    from rootbound_service.weather.quality.flags import Flags


@dataclass(frozen=True, slots=True, eq=False)
class Context:
    """What is known beside an answer; whatever is None takes its checks with it."""

    before: NDArray[np.float64] | None = None
    """Usable values of the days just before, shape (quantity, cell, earlier day)."""
    normals: Normals | None = None
    """What is usual in the cells. Without it, years of values are held against themselves."""
    rso_mj: NDArray[np.float64] | None = None
    """Radiation under a clear sky, shape (cell, day). [MJ m-2 d-1]"""
    other: NDArray[np.float64] | None = None
    """Another source's usable values of the same quantities, cells and days."""
    held: NDArray[np.float64] | None = None
    """What the same source had said of these days, or of the same days of another year."""
    held_of_other_years: bool = False


def check_block(block: Block, context: Context) -> Flags:
    """Find what is wrong or hard to believe in an answer.

    Parameters
    ----------
    block
        The answer; it is not changed.
    context
        What is known beside it, cells and quantities in the answer's order.

    Returns
    -------
    array of uint16
        Bits of :class:`~rootbound_service.weather.quality.flags.Flag`, shape (quantity,
        cell, day); 0 for a value without reproach, and for a missing one.
    """
    sheet = Sheet.of(block.quantities, block.values)
    before, other = _by_name(block, context.before), _by_name(block, context.other)
    check_limits(sheet, context.rso_mj)
    check_scale(sheet, _witnesses(block, context, other), _own(block, context))
    check_naught(sheet)
    check_internal(sheet)
    if context.rso_mj is not None:
        check_radiation(sheet, context.rso_mj)
    check_stuck(sheet, before)
    check_step(sheet, before)
    if context.normals is not None:
        check_climate(sheet, block.start, context.normals)
    else:
        check_own_climate(sheet, block.start)
    check_cross(sheet, other)
    return sheet.flags


def _by_name(block: Block, values: NDArray[np.float64] | None) -> dict[str, NDArray[np.float64]]:
    """Tables of shape (cell, day) by quantity; none where nothing is known."""
    return {} if values is None else dict(zip(block.quantities, values, strict=True))


def _witnesses(
    block: Block, context: Context, other: dict[str, NDArray[np.float64]]
) -> list[Witness]:
    """Those that know the scale of the answer without its source's help of tonight."""
    found = [other_witness(other)] if other else []
    if context.normals is not None:
        usual = context.normals
        slots = slots_of(block.start, block.days)
        enough = (usual.years >= FEWEST_YEARS)[:, None]
        rows = {name: usual.mean[row][:, slots] for row, name in enumerate(usual.quantities)}
        found.append(
            usual_witness({name: np.where(enough, row, np.nan) for name, row in rows.items()})
        )
    return found


def _own(block: Block, context: Context) -> Witness | None:
    """What its source had said before."""
    if context.held is None:
        return None
    held = _by_name(block, context.held)
    return own_witness(held, other_years=context.held_of_other_years)
