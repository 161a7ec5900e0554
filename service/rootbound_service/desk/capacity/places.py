"""Which cells of weather a number of fields lies in: counties filled from the densest on."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from rootbound_service.weather.sources.gridmet_names import GRID as GRIDMET
from rootbound_service.weather.sources.power_names import GRID as POWER

if TYPE_CHECKING:
    from rootbound_service.weather.cells import Cell, Grid

GRIDS = {grid.source: grid for grid in (GRIDMET, POWER)}
DEGREE_KM = 111.2
HA_A_KM2 = 100.0
UPTAKE = 0.8
"""Of a county's fields, how many are enrolled before the next county is begun: a choice."""
MIDDLE = {"gridmet": (42.0, -93.0), "nasa_power": (10.0, 20.0)}
"""Where the cells are laid out, as one block twice as wide as high. [deg]"""


@dataclass(frozen=True, slots=True)
class County:
    """Places where maize is equally dense, in one part of the world."""

    part: str
    words: str
    grid: str
    fields: float
    """All that there are."""
    cells: float
    """All in which they lie."""


@dataclass(frozen=True, slots=True)
class Lying:
    """Fields and the cells they lie in, by the finest source that serves them."""

    fields: dict[str, int]
    cells: dict[str, int]

    @property
    def every(self) -> int:
        """Cells of all sources together."""
        return sum(self.cells.values())


def counties() -> list[County]:
    """Give the kinds of counties, the densest of each part of the world first."""
    text = files("rootbound_service.desk.capacity").joinpath("density.toml").read_text("utf-8")
    found: list[County] = []
    for part, one in tomllib.loads(text).items():
        cell_ha = _cell_ha(GRIDS[one["grid"]], one["latitude"])
        found += [_county(part, one, kind, cell_ha) for kind in one["county"]]
    return found


def lying(fields: int, cells: int | None = None) -> Lying:
    """Say in how many cells some fields lie.

    Parameters
    ----------
    fields
        How many are enrolled.
    cells
        As the operator knows them, all of the finest source; None: counties are filled from
        the densest on, in the United States first.
    """
    if cells is not None:
        return Lying({GRIDMET.source: fields}, {GRIDMET.source: cells})
    left = float(fields)
    in_fields: dict[str, float] = {}
    in_cells: dict[str, float] = {}
    for county in counties():
        taken = min(left, county.fields * UPTAKE)
        if taken <= 0:
            continue
        begun = county.cells * taken / (county.fields * UPTAKE)
        # Fields lie in the cells of the counties begun by chance: a cell without one is not asked.
        used = begun * -math.expm1(-taken / begun)
        in_fields[county.grid] = in_fields.get(county.grid, 0.0) + taken
        in_cells[county.grid] = in_cells.get(county.grid, 0.0) + used
        left -= taken
    if left > 0:  # more fields than maize has: the same cells hold them
        in_fields[POWER.source] = in_fields.get(POWER.source, 0.0) + left
    return Lying(
        {name: round(many) for name, many in in_fields.items()},
        {name: max(1, math.ceil(many)) for name, many in in_cells.items()},
    )


@lru_cache(maxsize=16)
def laid_out(source: str, cells: int) -> tuple[Cell, ...]:
    """Lay cells out as one block on a source's grid, for its own code to cut into requests.

    Parameters
    ----------
    source
        Short name of the source.
    cells
        How many.
    """
    grid = GRIDS[source]
    middle = grid.snap(*MIDDLE[source])
    assert middle is not None  # noqa: S101  our own middle lies on the grid
    rows = min(grid.rows, max(1, math.isqrt(cells // 2)))
    columns = min(grid.columns, -(-cells // rows))
    top = min(max(0, middle.row - rows // 2), grid.rows - rows)
    left = min(max(0, middle.column - columns // 2), grid.columns - columns)
    every = min(cells, rows * columns)
    return tuple(grid.cell(top + n // columns, left + n % columns) for n in range(every))


@lru_cache(maxsize=16)
def beside(cells: int) -> tuple[Cell, ...]:
    """Give the cells of NASA POWER that stand in for a block of gridMET's.

    Parameters
    ----------
    cells
        How many of gridMET's.
    """
    block = laid_out(GRIDMET.source, cells)
    # Rows follow from latitudes alone and columns from longitudes: each is looked up once.
    rows = {cell.row: _power_cell(cell).row for cell in {cell.row: cell for cell in block}.values()}
    columns = {
        cell.column: _power_cell(cell).column
        for cell in {cell.column: cell for cell in block}.values()
    }
    found = dict.fromkeys((rows[cell.row], columns[cell.column]) for cell in block)
    return tuple(POWER.cell(*one) for one in found)


def _power_cell(cell: Cell) -> Cell:
    """NASA POWER's cell at the centre of another; it has one everywhere."""
    found = POWER.snap(*cell.centre)
    assert found is not None  # noqa: S101  the grid spans the globe
    return found


def _cell_ha(grid: Grid, latitude: float) -> float:
    """Size of a cell at a latitude. [ha]"""
    high = abs(grid.lat_step) * DEGREE_KM
    wide = grid.lon_step * DEGREE_KM * math.cos(math.radians(latitude))
    return high * wide * HA_A_KM2


def _county(part: str, one: dict[str, Any], kind: dict[str, Any], cell_ha: float) -> County:
    """Make one kind of county of its row."""
    area_ha = one["area_mha"] * 1e6 * kind["share"]
    cells = area_ha / (kind["maize"] * cell_ha)
    return County(part, kind["words"], one["grid"], area_ha / one["field_ha"], cells)
