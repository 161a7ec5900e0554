"""Borders of counties behind the map, where the optional package with them is installed.

They come from the US Census Bureau (TIGER/Line, free to use with its name given) in the sample
data of a plotting library (extra ``outlines``). Without it the map has its grid of degrees alone.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING

from rootbound_service.web.draw.place import Position

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

PACKAGE = "bokeh_sampledata"
CREDIT = "borders: US Census Bureau"
"""Its terms ask for the name."""
WIDEST_DEGREES = 4.0
"""On a wider map counties would hide the fields; states are drawn instead. [degrees]"""
STEP = 400.0
"""Of a map's width: what is finer is not drawn. [parts]"""
MOST_POINTS = 1500
"""What a page carries of borders at most."""

Line = list[Position]


def outlines_of(west: float, south: float, east: float, north: float) -> list[Line]:
    """Give borders that touch a part of the world.

    Parameters
    ----------
    west, south, east, north
        Its ends. [degrees]

    Returns
    -------
    list of list of (float, float)
        Longitude and latitude; empty without the package, or outside its country.
    """
    if find_spec(PACKAGE) is None:
        return []
    from shapely import clip_by_rect

    kind = "us_counties" if east - west <= WIDEST_DEGREES else "us_states"
    fine = (east - west) / STEP
    found: list[Line] = []
    for edge in _edges(kind):
        low_lon, low_lat, high_lon, high_lat = edge.bounds
        if low_lon > east or high_lon < west or low_lat > north or high_lat < south:
            continue
        seen = clip_by_rect(edge, west, south, east, north).simplify(fine)
        parts = getattr(seen, "geoms", [seen])
        found += [[(x, y) for x, y in one.coords] for one in parts if not one.is_empty]
    return found if sum(map(len, found)) <= MOST_POINTS else []


@cache
def _edges(kind: str) -> tuple[BaseGeometry, ...]:
    """The outlines of all counties or states, read once."""
    records = import_module(f"{PACKAGE}.{kind}").records()
    return tuple(record["geometry"].boundary for record in records)
