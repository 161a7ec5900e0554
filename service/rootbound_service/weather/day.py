"""The quantities of one day of weather under our names, and what every source must answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import IntEnum
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from rootbound_service.weather.cells import Cell, Grid

Cube = NDArray[np.float64]
"""Shape (quantity, cell, day); NaN is missing."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One measured thing: our name, its unit, and the difference that is only rounding."""

    name: str
    units: str
    longname: str
    rounding: float = 0.005


QUANTITIES = (
    Quantity("tmax_c", "degC", "highest air temperature of the day at 2 m"),
    Quantity("tmin_c", "degC", "lowest air temperature of the day at 2 m"),
    Quantity("rain_mm", "mm d-1", "rain of the day"),
    Quantity("solar_mj", "MJ m-2 d-1", "solar radiation on the ground"),
    Quantity("dewpoint_c", "degC", "mean dew point at 2 m"),
    Quantity("wind_m_s", "m s-1", "mean wind at 2 m"),
)
QUANTITY_NAMES = tuple(quantity.name for quantity in QUANTITIES)
VITAL = ("tmax_c", "tmin_c", "rain_mm")
"""Without these a day is not known."""


class Status(IntEnum):
    """How settled a value is."""

    UNKNOWN = 0
    PROVISIONAL = 1
    FINAL = 2


@dataclass(frozen=True, slots=True)
class Ask:
    """One request: some cells of one source, some consecutive days."""

    cells: tuple[Cell, ...]
    start: date
    end: date
    asked_on: date
    """The day of asking."""

    @property
    def days(self) -> int:
        """How many days are asked for."""
        return (self.end - self.start).days + 1

    def day(self, index: int) -> date:
        """The day at a position, from 0."""
        return self.start + timedelta(days=index)


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """What a source said about some cells over consecutive days, in our names and units."""

    source: str
    cells: tuple[Cell, ...]
    start: date
    quantities: tuple[str, ...]
    values: Cube
    """Shape (quantity, cell, day); NaN where the source has no value."""
    status: NDArray[np.uint8]
    """:class:`Status` by quantity and day, shape (quantity, day)."""
    issued: datetime | None = None
    """When the service says that it made this; None where it does not say."""
    elevation_m: NDArray[np.float64] | None = None
    """Mean elevation of each cell, NaN unknown, shape (cell,). [m]"""
    origins: tuple[str, ...] = ()
    """The data sets behind it, in the service's words."""
    raw: bytes = b""
    """The answer as it came; empty where it is a file too large to keep."""
    fingerprint: str = ""
    """Hash of what the answer says; its own timings left out."""
    suffix: str = "json"
    """What the raw answer is, as the ending of a file's name."""

    @property
    def days(self) -> int:
        """How many days there are."""
        return int(self.values.shape[2])

    @property
    def end(self) -> date:
        """The last day."""
        return self.start + timedelta(days=self.days - 1)


@dataclass(frozen=True, slots=True)
class Habits:
    """How a service behaves over time. [days]"""

    lag: int
    """From a day to its first values, as a rule."""
    recent: int
    """Each night asks this far back: values this young are still revised often."""
    settled: int
    """Once a month the asking reaches back this far; older values are taken for final."""


class DailySource(Protocol):
    """A service of past days behind our names and units."""

    @property
    def name(self) -> str:
        """Short name, as in keys of cells and in settings."""
        ...

    @property
    def title(self) -> str:
        """Name for people, such as in a letter."""
        ...

    @property
    def grid(self) -> Grid:
        """Its cells."""
        ...

    @property
    def quantities(self) -> tuple[str, ...]:
        """Which of our quantities it can give."""
        ...

    @property
    def earliest(self) -> date:
        """The first day it has."""
        ...

    @property
    def habits(self) -> Habits:
        """Its lag and its revisions."""
        ...

    def split(self, ask: Ask) -> Iterator[Ask]:
        """Cut what is wanted into requests that the service bears, each cell and day once."""
        ...

    def fetch(self, ask: Ask) -> Block:
        """Make one request; raises ``Unavailable`` if nothing usable came."""
        ...


def settled_by_age(ask: Ask, habits: Habits, quantities: Sequence[str]) -> NDArray[np.uint8]:
    """Status of an answer's days where only their age tells, shape (quantity, day).

    Parameters
    ----------
    ask
        What was asked.
    habits
        Of the service.
    quantities
        Which quantities the answer has.
    """
    age = (ask.asked_on - ask.start).days - np.arange(ask.days)
    by_day = np.where(age > habits.settled, Status.FINAL, Status.PROVISIONAL).astype(np.uint8)
    return np.tile(by_day, (len(quantities), 1))
