"""Which cell of the weather service's grid a field lies in; each cell is asked once."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from rootbound_service.errors import Problem, RefusedInput

# MERRA-2: 0.5 by 0.625 degrees, centres at -90 + 0.5 i, -180 + 0.625 j.
MET_LAT_STEP = 0.5
MET_LON_STEP = 0.625
MET_COLUMNS = 576
LAST_MET_ROW = 360
LAST_SOLAR_ROW = 179
MOST_LAT = 90.0
MOST_LON = 180.0

# Every second met centre lies on the edge of two solar cells: ask a hair north-east of it.
NUDGE_DEG = 0.01

KEY = re.compile(r"nasa_power:m(\d+)-(\d+):s(\d+)-(\d+)")


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """One cell of NASA POWER's meteorological grid (0.5 deg of latitude by 0.625 of longitude).

    The solar cell (1 by 1 deg) is that of the asked point, so one met cell has one solar
    cell and one request brings both.
    """

    met_row: int
    met_column: int

    @property
    def centre(self) -> tuple[float, float]:
        """Latitude and longitude of the met cell's centre. [deg]"""
        return -90.0 + MET_LAT_STEP * self.met_row, -180.0 + MET_LON_STEP * self.met_column

    @property
    def asked(self) -> tuple[float, float]:
        """The point to ask for, clear of any cell's edge. [deg]"""
        lat, lon = self.centre
        return min(lat + NUDGE_DEG, 90.0 - NUDGE_DEG), lon + NUDGE_DEG

    @property
    def solar(self) -> tuple[int, int]:
        """Row and column of the solar cell that the asked point lies in."""
        lat, lon = self.asked
        return min(math.floor(lat + 90.0), LAST_SOLAR_ROW), math.floor(lon + 180.0)

    @property
    def key(self) -> str:
        """Stable name of the cell, as stored; safe in logs, a cell is some 50 km wide."""
        row, column = self.solar
        return f"nasa_power:m{self.met_row}-{self.met_column}:s{row}-{column}"

    @property
    def folder(self) -> str:
        """The key as the name of a folder, without the service."""
        return self.key.partition(":")[2].replace(":", "_")


def snap(lat: float, lon: float) -> Cell:
    """Find the cell that a place lies in.

    Parameters
    ----------
    lat, lon
        The place, north and east positive. [deg]

    Returns
    -------
    Cell
        The cell; a place on an edge goes to the cell north or east of it.

    Raises
    ------
    RefusedInput
        If latitude or longitude is not on the globe.
    """
    problems: list[Problem] = []
    if not abs(lat) <= MOST_LAT:  # so written, NaN is refused too
        problems.append(Problem("latitude", f"{lat} is not on the globe", "give -90 to 90"))
    if not abs(lon) <= MOST_LON:
        problems.append(Problem("longitude", f"{lon} is not on the globe", "give -180 to 180"))
    if problems:
        raise RefusedInput(tuple(problems))
    row = math.floor((lat + 90.0) / MET_LAT_STEP + 0.5)
    column = math.floor((lon + 180.0) / MET_LON_STEP + 0.5) % MET_COLUMNS
    return Cell(row, column)


def cell_from_key(key: str) -> Cell:
    """Read a stored key back into its cell.

    Parameters
    ----------
    key
        As given by :attr:`Cell.key`.

    Returns
    -------
    Cell
        The cell of that key.

    Raises
    ------
    RefusedInput
        If the text is no key of this grid.
    """
    match = KEY.fullmatch(key)
    if match is not None:
        cell = Cell(int(match[1]), int(match[2]))
        if cell.met_row <= LAST_MET_ROW and cell.met_column < MET_COLUMNS and cell.key == key:
            return cell
    wanted = "give one such as nasa_power:m264-138:s132-86"
    raise RefusedInput((Problem("weather cell", f"{key!r} names no cell", wanted),))
