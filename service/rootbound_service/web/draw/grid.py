"""The grid of degrees of a map and its scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rootbound_service.web.draw.marks import tag, words
from rootbound_service.web.draw.place import round_step

if TYPE_CHECKING:
    from rootbound_service.web.draw.place import Extent

FOOT = 44.0
"""Height below the map, for degrees and scale. [px]"""
KM_PER_MILE = 1.609344
SIDE, TOP = 34.0, 16.0
"""Room that a name of degrees needs. [px]"""
POLE = 90.0


def grid(extent: Extent) -> list[str]:
    """Draw meridians and parallels with their degrees.

    Parameters
    ----------
    extent
        What the map shows.
    """
    step = round_step(max(extent.north - extent.south, extent.east - extent.west), 5)
    digits = max(0, -math.floor(math.log10(step)))
    found: list[str] = []
    for lon in _steps(extent.west, extent.east, step):
        x = (lon - extent.west) / (extent.east - extent.west) * extent.width
        found.append(tag("line", x1=x, x2=x, y1=0.0, y2=extent.height, class_="hair"))
        if SIDE < x < extent.width - SIDE:
            turned = (lon + 180.0) % 360.0 - 180.0
            name = f"{abs(turned):.{digits}f}°{'E' if turned >= 0 else 'W'}"
            found.append(words(name, x, extent.height + 13, "tick", "middle"))
    for lat in _steps(max(extent.south, -POLE), min(extent.north, POLE), step):
        _, y = extent.at((extent.west, lat))
        found.append(tag("line", x1=0.0, x2=extent.width, y1=y, y2=y, class_="hair"))
        if y > TOP:
            name = f"{abs(lat):.{digits}f}°{'N' if lat >= 0 else 'S'}"
            found.append(words(name, 2, y - 3, "tick halo"))
    return found


def scale(extent: Extent) -> list[str]:
    """Draw distances in kilometres and miles.

    Parameters
    ----------
    extent
        What the map shows.
    """
    found: list[str] = []
    for place, (unit, km) in enumerate((("km", 1.0), ("mi", KM_PER_MILE))):
        span = extent.km_wide / km
        length = round_step(span, 8)
        wide, y = length / span * extent.width, extent.height + 26 + 14 * place
        found.append(tag("path", d=f"M4 {y - 4:.1f}v4h{wide:.1f}v-4", class_="scale"))
        found.append(words(f"{length:g} {unit}", wide + 9, y, "tick"))
    return found


def _steps(low: float, high: float, step: float) -> list[float]:
    first, last = math.ceil(low / step), math.floor(high / step)
    return [number * step for number in range(first, last + 1)]
