"""The quantities of one day of weather under our names, and what every source must answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from rootbound_rules.season.values import Series
    from rootbound_service.weather.cells import Cell


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


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """What a source said about one cell, in our names and units; a missing value is NaN."""

    start: date
    columns: dict[str, Series]
    elevation_m: float | None
    """Mean elevation of the cell. [m]"""
    origins: tuple[str, ...]
    """The data sets the service says it used."""
    raw: bytes
    """The answer as it came."""
    fingerprint: str
    """Hash of what the answer says; its own timings left out."""

    @property
    def end(self) -> date:
        """The last day of the answer."""
        return self.start + timedelta(days=len(self.columns[QUANTITY_NAMES[0]]) - 1)


class WeatherSource(Protocol):
    """A public weather service behind our names and units."""

    @property
    def earliest(self) -> date:
        """The first day the service has."""
        ...

    def fetch(self, cell: Cell, start: date, end: date) -> Answer:
        """Ask once for every quantity of one cell from ``start`` through ``end``."""
        ...
