"""An outline as the other rooms see it, and as it is stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Position = tuple[float, float]
"""Longitude, latitude, WGS 84. [degrees]"""
Ring = tuple[Position, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """Where one field lies.

    Parameters
    ----------
    name
        As the file says it; "field 3" where it says nothing.
    rings
        Closed; the outer ring first, counterclockwise, then holes, clockwise (RFC 7946
        section 3.1.6); none for a field given as a point. [degrees]
    area_ha
        Without the holes; 0 for a point. [ha]
    middle
        The place that stands for the field. [degrees]
    properties
        What else the file says of it, as text.
    notice
        What a person should know of how the file was read; mostly empty.
    """

    name: str
    rings: tuple[Ring, ...]
    area_ha: float
    middle: Position
    properties: Mapping[str, str] = field(default_factory=dict[str, str])
    notice: str = ""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A shape as a file draws it, nothing checked but its structure.

    ``polygons`` are parts, each a list of rings; ``flaw`` says why there is no geometry.
    """

    polygons: list[list[list[Position]]]
    point: Position | None = None
    properties: Mapping[str, str] = field(default_factory=dict[str, str])
    name: str = ""
    flaw: str = ""
    notice: str = ""


def geometry_of(outline: Outline) -> dict[str, object]:
    """Give the GeoJSON geometry to store.

    Parameters
    ----------
    outline
        Any outline that was read.

    Returns
    -------
    dict[str, object]
        A Polygon, or a Point for a field given as one; RFC 7946.
    """
    if not outline.rings:
        return {"type": "Point", "coordinates": list(outline.middle)}
    rings = [[list(position) for position in ring] for ring in outline.rings]
    return {"type": "Polygon", "coordinates": rings}
