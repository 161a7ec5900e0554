"""Where places lie on the map: degrees to the picture, without a projection library.

An equirectangular picture whose east-west is scaled by the cosine of the middle latitude: at the
size of a county the error is far below a line's width.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

Position = tuple[float, float]
"""Longitude and latitude. [degrees]"""
KM_PER_DEGREE = 111.195
"""Of latitude, on a sphere of 6371 km. [km]"""
LEAST_DEGREES = 0.02
"""A single field is shown with some 2 km around it. [degrees]"""
FLATTEST, STEEPEST = 0.45, 1.5
"""Height by width of the picture."""


@dataclass(frozen=True, slots=True)
class Extent:
    """A part of the world and the picture of it."""

    west: float
    south: float
    east: float
    north: float
    width: float
    height: float

    def at(self, place: Position) -> tuple[float, float]:
        """Where a place lies in the picture."""
        middle = (self.west + self.east) / 2
        lon = _near(place[0], middle)
        x = (lon - self.west) / (self.east - self.west) * self.width
        return x, (self.north - place[1]) / (self.north - self.south) * self.height

    @property
    def km_wide(self) -> float:
        """Width of the picture on the ground. [km]"""
        middle = math.radians((self.north + self.south) / 2)
        return (self.east - self.west) * KM_PER_DEGREE * math.cos(middle)


def extent_of(places: Iterable[Position], width: float, margin: float = 0.08) -> Extent | None:
    """Give the part of the world that holds some places.

    Parameters
    ----------
    places
        At least one; where they lie on both sides of 180 degrees, the shorter way counts.
    width
        Of the picture. [px]
    margin
        Free on every side, as a share.

    Returns
    -------
    Extent or None
        None without a place.
    """
    every = list(places)
    if not every:
        return None
    first = every[0][0]
    lons = [_near(lon, first) for lon, _ in every]
    lats = [lat for _, lat in every]
    middle = (min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2
    squeeze = max(math.cos(math.radians(middle[1])), 0.05)
    wide = max((max(lons) - min(lons)) * squeeze, LEAST_DEGREES) * (1 + 2 * margin)
    tall = max(max(lats) - min(lats), LEAST_DEGREES) * (1 + 2 * margin)
    shape = min(max(tall / wide, FLATTEST), STEEPEST)
    wide, tall = max(wide, tall / shape), max(tall, wide * shape)
    east = wide / squeeze / 2
    return Extent(
        middle[0] - east,
        middle[1] - tall / 2,
        middle[0] + east,
        middle[1] + tall / 2,
        width,
        width * tall / wide,
    )


def round_step(span: float, most: int) -> float:
    """Give a round distance of which at most so many fit in a span."""
    power = 10.0 ** math.floor(math.log10(span / most))
    return next(power * one for one in (1, 2, 5, 10) if power * one * most >= span)


def _near(lon: float, first: float) -> float:
    """A longitude within half a turn of another."""
    return first + (lon - first + 180.0) % 360.0 - 180.0
