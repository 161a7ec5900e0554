"""Many cells of NASA POWER in a few requests: boxes of at most 10 degrees, one parameter each."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np

from rootbound_service.public.http import Reply
from rootbound_service.public.replies import Json, items, odd, part
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import Ask, Block, Habits
from rootbound_service.weather.sources.power_answer import days_of, status_of, values_of
from rootbound_service.weather.sources.power_header import (
    Told,
    elevation_of,
    place_of,
    read_header,
)
from rootbound_service.weather.sources.power_names import GRID, OURS, PARAMETERS, SOLAR

TILE_ROWS, TILE_COLUMNS = 20, 16
"""Cells in 10 degrees; tiles start at whole tens, so that none spans the date line."""
LEAST_DEG = 2.0
MARGIN_DEG = 0.1
"""Keeps the outermost centres off the edges of the box."""
RECORD = b"\x1e"
"""Starts each of several JSON texts in one file (RFC 7464)."""

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """What the service calls a region. [deg]"""

    south: float
    north: float
    west: float
    east: float


def tiles(cells: Sequence[Cell]) -> list[tuple[Cell, ...]]:
    """Group cells by the 10-degree tile they lie in.

    Parameters
    ----------
    cells
        Of NASA POWER's grid.
    """
    found: dict[tuple[int, int], list[Cell]] = {}
    for cell in cells:
        tile = cell.row // TILE_ROWS, cell.column // TILE_COLUMNS
        found.setdefault(tile, []).append(cell)
    return [tuple(members) for members in found.values()]


def box_of(cells: Sequence[Cell]) -> Box:
    """Box around the centres of cells of one tile and of the radiation's cells they lie in.

    Parameters
    ----------
    cells
        Of one tile.
    """
    suns = [solar_centre(cell) for cell in cells]
    lats = [cell.lat for cell in cells] + [lat for lat, _ in suns]
    lons = [cell.lon for cell in cells] + [lon for _, lon in suns]
    south, north = _side(min(lats), max(lats), 90.0)
    west, east = _side(min(lons), max(lons), 180.0)
    return Box(south, north, west, east)


def asked_at(cell: Cell) -> Place:
    """Where the service is asked for a cell: a hair north-east of its centre. [deg]

    A centre may lie on the edge of two of radiation's cells; so it lies in one.

    Parameters
    ----------
    cell
        The cell.
    """
    return min(cell.lat + 0.01, 89.99), cell.lon + 0.01


def solar_centre(cell: Cell) -> Place:
    """Centre of radiation's one-degree cell that a cell is given the radiation of. [deg]

    Parameters
    ----------
    cell
        The cell.
    """
    lat, lon = asked_at(cell)
    return math.floor(lat) + 0.5, math.floor(lon) + 0.5


def fetch_region(get: Callable[[str, Box], Reply], ask: Ask, habits: Habits, who: str) -> Block:
    """Ask for one parameter after the other and put the answers together.

    Parameters
    ----------
    get
        Asks for one parameter in a box.
    ask
        Cells of one tile; those that the service does not give are missing.
    habits
        Of the service, for the status of its values.
    who
        The service and the cells, for the error's sentence.

    Raises
    ------
    Unavailable
        If one of the answers is not usable.
    """
    box, days = box_of(ask.cells), days_of(ask)
    values = np.full((len(OURS), len(ask.cells), ask.days), np.nan)
    elevation = np.full(len(ask.cells), np.nan)
    raw: list[bytes] = []
    marks: list[str] = []
    origins: dict[str, None] = {}
    for row, theirs in enumerate(PARAMETERS):
        reply = get(theirs, box)
        told = read_header(reply, who)
        for index, feature in _features(told, ask.cells, theirs, who):
            table = part(part(feature, "properties", who), "parameter", who)
            values[row, index] = values_of(told, table, theirs, days, who)
            if theirs != SOLAR:
                elevation[index] = elevation_of(feature)
        raw.append(RECORD + reply.content.strip() + b"\n")
        marks.append(told.fingerprint)
        origins.update(dict.fromkeys(told.origins))
    return Block(
        source=GRID.source,
        cells=ask.cells,
        start=ask.start,
        quantities=OURS,
        values=values,
        status=status_of(ask, habits, tuple(origins)),
        elevation_m=elevation,
        origins=tuple(origins),
        raw=b"".join(raw),
        fingerprint=hashlib.sha256("".join(marks).encode()).hexdigest(),
        suffix="json-seq",
    )


def _features(
    told: Told, cells: Sequence[Cell], theirs: str, who: str
) -> Iterator[tuple[int, Json]]:
    """Find the feature of each cell by its centre, radiation's by its own."""
    given: dict[Place, Json] = {}
    for feature in items(told.document, "features", who):
        if not isinstance(feature, dict):
            odd(who, f"{theirs} has a feature that is none")
        lon_lat = place_of(cast("Json", feature))[:2]
        if len(lon_lat) < 2 or not all(map(math.isfinite, lon_lat)):  # noqa: PLR2004 - a pair
            odd(who, f"{theirs} has a feature without a place")
        centre = round(lon_lat[1], 3), round(lon_lat[0], 3)
        if centre in given:
            odd(who, f"{theirs} is there twice for one place")
        given[centre] = cast("Json", feature)
    found = [(index, _of_cell(given, cell, theirs)) for index, cell in enumerate(cells)]
    if all(feature is None for _, feature in found):
        odd(who, f"{theirs} is there for none of the cells")
    yield from ((index, feature) for index, feature in found if feature is not None)


def _of_cell(given: dict[Place, Json], cell: Cell, theirs: str) -> Json | None:
    """Feature of a cell: of its own centre, or of radiation's cell around it."""
    lat, lon = cell.centre
    own = given.get((round(lat, 3), round(lon, 3)))
    if own is None and theirs == SOLAR:
        return given.get(solar_centre(cell))
    return own


def _side(low: float, high: float, most: float) -> Place:
    """Margin on both sides, at least 2 degrees, and not beyond the globe."""
    spare = max(MARGIN_DEG, (LEAST_DEG - (high - low)) / 2)
    low, high = low - spare, high + spare
    if low < -most:
        low, high = -most, max(high, LEAST_DEG - most)
    if high > most:
        low, high = min(low, most - LEAST_DEG), most
    return low, high
