"""Corners drawn on a page: longitude and latitude, a pair for each."""

from __future__ import annotations

from rootbound_service.intake.shapes.check import outline_from
from rootbound_service.intake.shapes.limits import KEPT_CORNERS
from rootbound_service.intake.shapes.outlines import Drawn, Outline, Position
from rootbound_service.intake.shapes.refuse import Flaw, refused
from rootbound_service.intake.wrong import shown

WHERE = "the corners"
THREE = 3
LONGEST_PAIR = 60
EXAMPLE = 'write "lon,lat lon,lat lon,lat", for example "-93.62,42.03 -93.61,42.03 -93.61,42.04"'


def from_corners(text: str) -> Outline:
    """Read an outline drawn corner by corner.

    Parameters
    ----------
    text
        ``lon,lat lon,lat ...``, in either direction; the last corner may repeat the first.

    Returns
    -------
    Outline
        Without a name.

    Raises
    ------
    RefusedInput
        If it is not a field's outline.
    """
    try:
        return outline_from(Drawn([[_ring(text)]]), "")
    except Flaw as flaw:
        raise refused([flaw.at(WHERE)]) from None


def _ring(text: str) -> list[Position]:
    if len(text) > KEPT_CORNERS * LONGEST_PAIR:
        raise Flaw("are too many", f"draw at most {KEPT_CORNERS} corners")
    ring = [_corner(pair) for pair in text.split()]
    if len(set(ring)) < THREE:
        raise Flaw("are fewer than three", "draw at least three corners around the field")
    if len(ring) > KEPT_CORNERS:
        raise Flaw(f"are {len(ring)}", f"draw at most {KEPT_CORNERS} corners")
    return ring if ring[0] == ring[-1] else [*ring, ring[0]]


def _corner(pair: str) -> Position:
    try:
        lon, lat = (float(number) for number in pair.split(","))
    except ValueError:
        raise Flaw(f"{shown(pair)} is not a pair of numbers", EXAMPLE) from None
    return lon, lat
