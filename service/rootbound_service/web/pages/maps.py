"""The map beside a list of fields."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rootbound_service.web.draw.map import Spot, map_extent, map_svg
from rootbound_service.web.draw.outlines import outlines_of
from rootbound_service.web.pages.enrol_map import ring_of

if TYPE_CHECKING:
    from rootbound_service.web.pages.today_rows import Line


def field_map(lines: Sequence[Line]) -> str:
    """Draw the fields of a list; nothing where there are none.

    Parameters
    ----------
    lines
        The most urgent first.
    """
    spots = [_spot(one) for one in lines]
    at = map_extent(spots)
    return map_svg(spots, outlines_of(at.west, at.south, at.east, at.north) if at else ())


def _spot(one: Line) -> Spot:
    return Spot(
        id=one.id,
        about=f"{one.name}, {one.chip}",
        kind=one.chip_class,
        sign="" if one.rung is None else str(one.rung),
        place=(one.lon, one.lat),
        ring=ring_of(one.shape),
    )
