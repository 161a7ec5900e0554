"""gridMET's yearly files, for the past years of many cells: one file a variable and year."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import odd
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, Ask, Block, settled_by_age
from rootbound_service.weather.sources.gridmet_das import packing_of
from rootbound_service.weather.sources.gridmet_files import Files
from rootbound_service.weather.sources.gridmet_names import (
    CENTRE_DEG,
    FIRST_DAY,
    GRID,
    HABITS,
    VARIABLES,
    Variable,
    groups,
)
from rootbound_service.weather.sources.gridmet_units import Numbers, to_ours

if TYPE_CHECKING:
    import xarray as xr

BROKEN = (OSError, ValueError, KeyError, TypeError, AttributeError, RuntimeError, OverflowError)
"""What the library raises over a file that is none or is damaged."""
THREE = 3


class GridMetFiles:
    """gridMET's daily values out of its yearly netCDF files.

    Parameters
    ----------
    files
        Where the files are or come from.
    """

    name = GRID.source
    title = "gridMET"
    grid = GRID
    quantities = QUANTITY_NAMES
    earliest = FIRST_DAY
    habits = HABITS

    def __init__(self, files: Files) -> None:
        self._files = files

    def split(self, ask: Ask) -> Iterator[Ask]:
        """Cut what is wanted by calendar year, then by tile: a year's files serve all tiles.

        Parameters
        ----------
        ask
            What is wanted.
        """
        for year in range(ask.start.year, ask.end.year + 1):
            start, end = max(ask.start, date(year, 1, 1)), min(ask.end, date(year, 12, 31))
            for members in groups(ask.cells):
                yield Ask(members, start, end, ask.asked_on)

    def fetch(self, ask: Ask) -> Block:
        """Read the days of some cells out of one year's files.

        Parameters
        ----------
        ask
            Neighbouring cells and days of one year, as :meth:`split` gives them.

        Returns
        -------
        Block
            The days in our names and units; those not in the files are NaN.

        Raises
        ------
        Unavailable
            If a file could not be had, or is not what it should be.
        """
        theirs: dict[Variable, Numbers] = {}
        paths: list[Path] = []
        for variable in VARIABLES:
            who = f"gridMET, file {variable.short}_{ask.start.year}.nc"
            path = self._files.path(variable.short, ask.start.year, ask.asked_on, who)
            try:
                theirs[variable] = read_file(path, variable, ask, who)
            except Unavailable:
                self._files.drop(path)
                raise
            paths.append(path)
        return Block(
            source=GRID.source,
            cells=ask.cells,
            start=ask.start,
            quantities=QUANTITY_NAMES,
            values=to_ours(theirs, f"gridMET, files of {ask.start.year}"),
            status=settled_by_age(ask, HABITS, QUANTITY_NAMES),
            origins=tuple(path.name for path in paths),
            suffix="nc",
        )


def read_file(path: Path, variable: Variable, ask: Ask, who: str) -> Numbers:
    """Read one variable of some cells and days, in its own unit.

    Parameters
    ----------
    path
        The file; part of the grid or of the year is enough.
    variable, ask
        What is wanted.
    who
        The service and the file, for the error's sentence.

    Returns
    -------
    NDArray
        Shape (cell, day), NaN where the file has no such day or a fill.

    Raises
    ------
    Unavailable
        If it is no such file, or a cell is not in it.
    """
    import xarray as xr

    try:
        opened = xr.open_dataset(path, engine="netcdf4", mask_and_scale=False)
        with closing(opened):
            return _read(opened, variable, ask, who)
    except Unavailable:
        raise
    except BROKEN as error:
        what = f"the file cannot be read ({type(error).__name__})"
        raise Unavailable(who, what, retry_later=True) from error


def _read(opened: xr.Dataset, variable: Variable, ask: Ask, who: str) -> Numbers:
    """Read out of the opened file: its only variable of three dimensions."""
    cubes = [one for one in opened.data_vars.values() if one.ndim == THREE]
    if len(cubes) != 1 or cubes[0].dims != ("day", "lat", "lon"):
        odd(who, "the file has not one variable over day, lat and lon")
    packing = packing_of(_texts(cubes[0].attrs), variable, who)
    rows = _places(opened["lat"].to_numpy(), {cell: cell.lat for cell in ask.cells}, who)
    columns = _places(opened["lon"].to_numpy(), {cell: cell.lon for cell in ask.cells}, who)
    into, out_of = _days(opened["day"].to_numpy(), ask, who)
    found = np.full((len(ask.cells), ask.days), np.nan)
    if len(into):
        box = cubes[0].isel(
            day=slice(int(out_of.min()), int(out_of.max()) + 1),
            lat=slice(int(rows.min()), int(rows.max()) + 1),
            lon=slice(int(columns.min()), int(columns.max()) + 1),
        )
        values = packing.unpack(box.to_numpy().astype(np.float64))
        part = values[:, rows - rows.min(), columns - columns.min()]
        found[:, into] = part[out_of - out_of.min()].T
    return found


def _texts(attributes: Mapping[Any, Any]) -> dict[str, str]:
    """Attributes as texts, numbers in full."""
    return {
        str(name): str(value.item() if hasattr(value, "item") else value)
        for name, value in attributes.items()
    }


def _places(axis: Numbers, wanted: Mapping[Cell, float], who: str) -> np.ndarray[Any, Any]:
    """Where on an axis each cell's centre is."""
    centres = np.array(list(wanted.values()))
    away = np.abs(axis.astype(np.float64)[np.newaxis, :] - centres[:, np.newaxis])
    if not axis.size or not (away.min(axis=1) <= CENTRE_DEG).all():
        odd(who, "a cell that was asked for is not in the file")
    return cast("np.ndarray[Any, Any]", away.argmin(axis=1))


def _days(
    axis: np.ndarray[Any, Any], ask: Ask, who: str
) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Places of the file's days among those asked for, and in the file."""
    if not np.issubdtype(axis.dtype, np.datetime64):
        odd(who, "its days are not dates")
    days = axis.astype("datetime64[D]")
    if (np.diff(days) <= np.timedelta64(0, "D")).any() or (days != axis).any():
        odd(who, "its days do not follow each other")
    into = (days - np.datetime64(ask.start)).astype(np.int64)
    inside = np.flatnonzero((into >= 0) & (into < ask.days))
    return into[inside], inside
