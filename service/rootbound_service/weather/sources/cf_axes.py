"""The level axes of a CF file: which of its rows and columns a cell is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
from numpy.typing import NDArray

from rootbound_service.public.replies import odd
from rootbound_service.weather.cells import Grid

if TYPE_CHECKING:
    import xarray as xr

    from rootbound_service.weather.sources.cf_preset import Axes

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

UNEVEN = 0.02
"""The share of a step by which a coordinate may be off its place: rounding to 32 bits."""
ELSEWHERE = 0.1
"""The share of a step by which a cell's centre may be off a file's: else it is another grid."""
CIRCLE = 360.0


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """A regular axis of latitude or longitude as it lies in a file, rising or falling."""

    first: float
    step: float
    values: Numbers
    around: bool
    """Longitude: 0 and 360 are one."""

    def places(self, wanted: Numbers) -> tuple[Places, NDArray[np.bool_]]:
        """Find where wanted centres lie.

        Parameters
        ----------
        wanted
            Latitudes or longitudes of cells. [deg]

        Returns
        -------
        tuple
            Place of each, and whether it is on the axis at all.
        """
        along = (wanted - self.first) * np.sign(self.step)
        size = abs(self.step)
        if self.around:
            along = (along + size / 2) % CIRCLE - size / 2
        found = np.rint(along / size).astype(np.int64)
        return found, (found >= 0) & (found < len(self.values))

    def off(self, wanted: Numbers, places: Places) -> Numbers:
        """How far centres are from their place, as a share of a step."""
        apart = self.values[places] - wanted
        if self.around:
            apart = (apart + CIRCLE / 2) % CIRCLE - CIRCLE / 2
        return np.abs(apart) / abs(self.step)


def axis_of(
    dataset: xr.Dataset, name: str, who: str, *, around: bool, step: float | None = None
) -> Axis:
    """Read one axis and insist that it is regular.

    Parameters
    ----------
    dataset
        The open file.
    name
        Of the coordinate.
    who
        For the error's sentence.
    around
        Whether it is longitude.
    step
        For an axis of a single cell, which has none of its own. [deg]

    Raises
    ------
    Unavailable
        If it is missing, has two dimensions, or its spacing is not even.
    """
    values = coordinate(dataset, name, who)
    steps = np.diff(values)
    if around:
        steps = (steps + CIRCLE / 2) % CIRCLE - CIRCLE / 2
    if len(values) < 2:  # noqa: PLR2004 - a step needs two
        if step is None:
            odd(who, f"{name} has {len(values)} values; a regular axis has at least two")
        return Axis(float(values[0]), abs(step), values, around)
    mean = float(steps.sum()) / len(steps)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    uneven = np.abs(along - mean * np.arange(len(values))) > UNEVEN * abs(mean)
    if mean == 0 or uneven.any():
        at = int(uneven.argmax())
        odd(who, f"{name} is not evenly spaced near {values[at]:g}; one even step is wanted")
    return Axis(float(values[0]), mean, values, around)


def grid_of(dataset: xr.Dataset, axes: Axes, source: str, who: str) -> Grid:
    """Make the grid of cells that a file's axes say.

    Parameters
    ----------
    dataset
        The open file.
    axes
        Names of the axes.
    source
        Short name of the source.
    who
        For the error's sentence.

    Returns
    -------
    Grid
        Rows in the file's order, columns from west to east.
    """
    lat = axis_of(dataset, axes.lat, who, around=False)
    lon = axis_of(dataset, axes.lon, who, around=True)
    size = abs(lon.step)
    columns = min(len(lon.values), round(CIRCLE / size))  # a column that repeats the first is none
    west = lon.first if lon.step > 0 else lon.first + lon.step * (len(lon.values) - 1)
    wraps = abs(columns * size - CIRCLE) < size / 2
    return Grid(source, lat.first, west, lat.step, size, len(lat.values), columns, wraps)


def coordinate(dataset: xr.Dataset, name: str, who: str, *, degrees: bool = True) -> Numbers:
    """Read a coordinate that has one dimension.

    Parameters
    ----------
    dataset, name
        The open file, and which.
    who
        For the error's sentence.
    degrees
        Whether it must be one of the globe.

    Raises
    ------
    Unavailable
        If it is missing, has more dimensions, or is no row of numbers.
    """
    if name not in dataset.variables:
        there = ", ".join(map(str, dataset.variables))
        odd(who, f"has no {name}; it has {there}")
    found = dataset[name]
    if found.ndim != 1:
        odd(who, f"{name} has {found.ndim} dimensions; only a grid along {name} alone can be read")
    try:
        values = np.asarray(found.values, dtype=np.float64)
    except (TypeError, ValueError):
        odd(who, f"{name} is no row of numbers")
    if degrees and not (np.abs(values) <= CIRCLE).all():
        odd(
            who, f"{name} is not in degrees: {cast('object', found.attrs.get('units', 'no units'))}"
        )
    if not len(values):
        odd(who, f"{name} is empty")
    return values
