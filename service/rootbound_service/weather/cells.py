"""Grids of weather services, and which of their cells a place lies in; a cell is asked once."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from rootbound_service.errors import Problem, RefusedInput

MOST_LAT = 90.0
MOST_LON = 180.0
EDGE_DEG = 1e-9
"""Nearer to the middle of two cells than this is exactly between them: north and east win."""

KEY = re.compile(r"([a-z][a-z0-9_]*):(\d+)-(\d+)")


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """One cell of one source's grid."""

    source: str
    row: int
    column: int
    lat: float
    """Of its centre. [deg]"""
    lon: float
    """Of its centre, -180 to 180. [deg]"""

    @property
    def centre(self) -> tuple[float, float]:
        """Latitude and longitude of the centre. [deg]"""
        return self.lat, self.lon

    @property
    def key(self) -> str:
        """Stable name of the cell, as stored; safe in logs where a cell is some km wide."""
        return f"{self.source}:{self.row}-{self.column}"

    @property
    def folder(self) -> str:
        """The key as the name of a folder, without the source."""
        return f"{self.row}-{self.column}"


@dataclass(frozen=True, slots=True)
class Grid:
    """A regular grid of latitude and longitude, rows and columns numbered as its service does.

    ``lat_step`` is negative where row 0 is the northernmost. ``wraps`` says that the last
    column is the neighbour of the first.
    """

    source: str
    lat0: float
    lon0: float
    lat_step: float
    lon_step: float
    rows: int
    columns: int
    wraps: bool = False

    def cell(self, row: int, column: int) -> Cell:
        """Give a cell by its place in the grid; its longitude comes as -180 to 180.

        Parameters
        ----------
        row, column
            Numbers as the service counts them, from 0.
        """
        lon = self.lon0 + column * self.lon_step
        around = (lon + 180.0) % 360.0 - 180.0
        return Cell(self.source, row, column, self.lat0 + row * self.lat_step, around)

    def snap(self, lat: float, lon: float) -> Cell | None:
        """Find the cell that a place lies in.

        Parameters
        ----------
        lat, lon
            The place, north and east positive. [deg]

        Returns
        -------
        Cell or None
            None outside the grid. A place exactly between cells goes to the northern, the
            eastern one.

        Raises
        ------
        RefusedInput
            If latitude or longitude is not on the globe.
        """
        on_the_globe(lat, lon)
        row = _nearest((lat - self.lat0) / self.lat_step, up=self.lat_step > 0)
        east = (lon - self.lon0) % 360.0
        column = _nearest(east / self.lon_step, up=self.lon_step > 0)
        if self.wraps:
            column %= self.columns
        elif column >= self.columns:  # half a cell west of the first comes out far in the east
            column = _nearest((east - 360.0) / self.lon_step, up=self.lon_step > 0)
        if 0 <= row < self.rows and 0 <= column < self.columns:
            return self.cell(row, column)
        return None

    def from_key(self, key: str) -> Cell:
        """Read a stored key back into its cell.

        Parameters
        ----------
        key
            As given by :attr:`Cell.key`.

        Raises
        ------
        RefusedInput
            If the text is no key of this grid.
        """
        match = KEY.fullmatch(key)
        if match is not None and match[1] == self.source:
            row, column = int(match[2]), int(match[3])
            if row < self.rows and column < self.columns:
                return self.cell(row, column)
        wanted = f"give one such as {self.cell(self.rows // 2, self.columns // 2).key}"
        raise RefusedInput((Problem("weather cell", f"{key!r} names no cell", wanted),))


def on_the_globe(lat: float, lon: float) -> None:
    """Refuse a place that is none.

    Parameters
    ----------
    lat, lon
        North and east positive. [deg]

    Raises
    ------
    RefusedInput
        If one of them is beyond its range or no number.
    """
    problems: list[Problem] = []
    if not abs(lat) <= MOST_LAT:  # so written, NaN is refused too
        problems.append(Problem("latitude", f"{lat} is not on the globe", "give -90 to 90"))
    if not abs(lon) <= MOST_LON:
        problems.append(Problem("longitude", f"{lon} is not on the globe", "give -180 to 180"))
    if problems:
        raise RefusedInput(tuple(problems))


def _nearest(place: float, *, up: bool) -> int:
    """Number of the nearest cell; in the middle of two, the higher or the lower one."""
    if up:
        return math.floor(place + 0.5 + EDGE_DEG)
    return math.ceil(place - 0.5 - EDGE_DEG)
