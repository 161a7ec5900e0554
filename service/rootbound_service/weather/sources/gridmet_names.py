"""gridMET's grid, names and units, and what of it makes our quantities.

Which unit texts the service writes is known for temperatures; the others are from memory, as is
the height of its wind (10 m). A text we do not know is refused by name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from rootbound_service.weather.cells import Cell, Grid
from rootbound_service.weather.day import Habits

GRID = Grid("gridmet", 49.4, -124.76666663, -1.0 / 24.0, 1.0 / 24.0, 585, 1386)
FIRST_DAY = date(1979, 1, 1)
"""Day 0 of the service's axis."""
HABITS = Habits(lag=2, recent=60, settled=75)
"""Early for some days, provisional for about two months, then permanent [from memory]."""
CENTRE_DEG = 1e-3
"""A centre that is told differs from ours by less: the service counts from 49.4 in binary."""
WIND_HEIGHT_M = 10.0
TILE = 12
"""Rows and columns of cells that go together into one request: half a degree."""


@dataclass(frozen=True, slots=True)
class Variable:
    """One of the service's data sets."""

    short: str
    """As in names of files."""
    inside: str
    """The variable in its aggregation; in the yearly files it has other names."""
    units: tuple[str, ...]

    @property
    def aggregation(self) -> str:
        """File that holds every day since 1979."""
        return f"agg_met_{self.short}_1979_CurrentYear_CONUS.nc"


_KELVIN = ("K", "degK", "kelvin", "Kelvin")
_PERCENT = ("%", "percent")

TMAX = Variable("tmmx", "daily_maximum_temperature", _KELVIN)
TMIN = Variable("tmmn", "daily_minimum_temperature", _KELVIN)
RAIN = Variable("pr", "precipitation_amount", ("mm", "mm/day", "mm d-1"))
SOLAR = Variable(
    "srad",
    "daily_mean_shortwave_radiation_at_surface",
    ("W m-2", "W/m2", "W/m^2", "W m^-2", "Wm-2"),
)
WIND = Variable("vs", "daily_mean_wind_speed", ("m/s", "m s-1", "m s^-1"))
RHMAX = Variable("rmax", "daily_maximum_relative_humidity", _PERCENT)
RHMIN = Variable("rmin", "daily_minimum_relative_humidity", _PERCENT)

VARIABLES = (TMAX, TMIN, RAIN, SOLAR, WIND, RHMAX, RHMIN)


def groups(cells: Sequence[Cell]) -> list[tuple[Cell, ...]]:
    """Group cells by the tile they lie in.

    Parameters
    ----------
    cells
        Of gridMET's grid.
    """
    found: dict[tuple[int, int], list[Cell]] = {}
    for cell in cells:
        found.setdefault((cell.row // TILE, cell.column // TILE), []).append(cell)
    return [tuple(members) for members in found.values()]


@dataclass(frozen=True, slots=True)
class Box:
    """Some consecutive days, rows and columns of the service's axes, last ones included."""

    days: range
    rows: range
    columns: range

    @property
    def shape(self) -> tuple[int, int, int]:
        """How many of each."""
        return len(self.days), len(self.rows), len(self.columns)

    @property
    def constraint(self) -> str:
        """In the words of OPeNDAP."""
        return "".join(f"[{one[0]}:1:{one[-1]}]" for one in (self.days, self.rows, self.columns))


def rows_and_columns(cells: Sequence[Cell]) -> tuple[range, range]:
    """Give the rows and columns around some cells.

    Parameters
    ----------
    cells
        Of gridMET's grid, at least one.
    """
    rows, columns = [cell.row for cell in cells], [cell.column for cell in cells]
    return range(min(rows), max(rows) + 1), range(min(columns), max(columns) + 1)


def day_index(day: date) -> int:
    """Place of a day on the service's axis, leap days counted.

    Parameters
    ----------
    day
        From 1979-01-01 on.
    """
    return (day - FIRST_DAY).days


def day_at(index: int) -> date:
    """Give the day at a place on the service's axis.

    Parameters
    ----------
    index
        From 0.
    """
    return FIRST_DAY + timedelta(days=index)
