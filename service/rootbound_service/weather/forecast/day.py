"""A forecast of some days for one place, in our names and units, and who gives such."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

ESTIMATED = 1
"""Bit of ``made``: the service has no such value; it was estimated from others it has."""
RAIN_CHANCE = "rain_chance"
"""Further quantity of a forecast that has one: chance of any rain on the day. [0-1]"""
PARTIAL = 2
"""Bit of ``made``: the service covers the day in part only."""


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """What a service expects, from the day of its issue on.

    Arrays have shape (quantity, member, day); a forecast without an ensemble has one member.
    """

    source: str
    lat: float
    """Of the place that was asked for. [deg]"""
    lon: float
    issued: datetime
    """When the service made it, aware UTC."""
    fetched: datetime
    """When we asked, aware UTC."""
    start: date
    """Local day of element 0."""
    quantities: tuple[str, ...]
    values: NDArray[np.float64]
    """NaN where the service says nothing: an absent day is not a dry one."""
    made: NDArray[np.uint8]
    """Bits ``ESTIMATED`` and ``PARTIAL``, shape (quantity, day)."""
    where: str = ""
    """The service's own name of the place, such as its grid point."""
    raw: bytes = b""
    fingerprint: str = ""

    @property
    def days(self) -> int:
        """How many days there are."""
        return int(self.values.shape[2])

    @property
    def members(self) -> int:
        """How many members there are."""
        return int(self.values.shape[1])

    @property
    def end(self) -> date:
        """The last day."""
        return self.start + timedelta(days=self.days - 1)


class ForecastSource(Protocol):
    """A service of coming days behind our names and units."""

    @property
    def name(self) -> str:
        """Short name, as in settings."""
        ...

    @property
    def title(self) -> str:
        """Name for people."""
        ...

    def covers(self, lat: float, lon: float) -> bool:
        """Tell whether the service knows the place. [deg]"""
        ...

    def fetch(self, lat: float, lon: float, now: datetime) -> Forecast:
        """Ask for the coming days of a place; raises ``Unavailable`` if nothing usable came."""
        ...
