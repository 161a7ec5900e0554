"""Takes the values of many cells out of an open CF file, a bounded piece at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rootbound_service.public.replies import odd
from rootbound_service.weather.sources.cf_axes import ELSEWHERE, Axis, axis_of

if TYPE_CHECKING:
    import xarray as xr

    from rootbound_service.weather.sources.cf_preset import Axes

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

MOST_AT_ONCE = 3_000_000
"""Values read at once, wanted or not."""
WIDE_GAP = 0.25
"""A strip without a cell this wide, as a share of the side, is not read along."""
NO_WEATHER = 1e30
"""Beyond this it is the library's own fill value, which a writer left out of the attributes."""


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Where the wanted cells lie in one file."""

    rows: Places
    columns: Places
    inside: NDArray[np.bool_]


def spots_of(
    dataset: xr.Dataset,
    axes: Axes,
    lat: Numbers,
    lon: Numbers,
    steps: tuple[float, float],
    who: str,
) -> Spots:
    """Find cells by the file's own coordinates.

    Parameters
    ----------
    dataset, axes
        The open file, and the names of its axes.
    lat, lon
        Centres of the cells. [deg]
    steps
        Of the source's grid, for a file of a single row or column. [deg]
    who
        For the error's sentence.

    Raises
    ------
    Unavailable
        If the file has another grid.
    """
    down = axis_of(dataset, axes.lat, who, around=False, step=steps[0])
    across = axis_of(dataset, axes.lon, who, around=True, step=steps[1])
    rows, in_rows = down.places(lat)
    columns, in_columns = across.places(lon)
    inside = in_rows & in_columns
    _same_grid(down, lat[inside], rows[inside], axes.lat, who)
    _same_grid(across, lon[inside], columns[inside], axes.lon, who)
    return Spots(rows, columns, inside)


def _same_grid(axis: Axis, wanted: Numbers, places: Places, name: str, who: str) -> None:
    """Refuse a file whose cells have other centres."""
    off = axis.off(wanted, places)
    if (off > ELSEWHERE).any():
        at = int(off.argmax())
        there, asked = axis.values[places[at]], wanted[at]
        odd(who, f"has another grid: {name} {there:.5f} where {asked:.5f} is a centre")


def read_values(
    found: xr.DataArray, spots: Spots, steps: Places, fill: float | None, who: str
) -> Numbers:
    """Read some steps of some cells, unpacked, in the file's unit.

    Parameters
    ----------
    found
        The variable, over time, latitude and longitude in this order.
    spots
        Where the cells are.
    steps
        Places on the time axis, rising.
    fill
        A further number that means missing.
    who
        For the error's sentence.

    Returns
    -------
    ndarray
        Shape (cell, step); NaN is missing or outside the file.
    """
    values = np.full((len(spots.rows), len(steps)), np.nan)
    if found.dtype.kind not in "fiu":
        odd(who, f"{found.name} holds no numbers")
    default = _default_fill(found)
    for chosen in _boxes(spots, np.flatnonzero(spots.inside)):
        rows, columns = spots.rows[chosen], spots.columns[chosen]
        top, left = int(rows.min()), int(columns.min())
        height, width = int(rows.max()) - top + 1, int(columns.max()) - left + 1
        most = max(1, MOST_AT_ONCE // (height * width))
        for begin in range(0, len(steps), most):
            some = steps[begin : begin + most]
            low, high = int(some[0]), int(some[-1]) + 1
            box = found[low:high, top : top + height, left : left + width].values
            taken = box[(some - low)[:, None], rows - top, columns - left]
            values[chosen, begin : begin + most] = taken.T
    gone = ~(np.abs(values) < NO_WEATHER)
    for number in (fill, default):
        if number is not None:
            gone |= np.isclose(values, number, rtol=1e-6, atol=1e-6)
    values[gone] = np.nan
    return values


def _boxes(spots: Spots, chosen: Places) -> Iterator[Places]:
    """Cut cells into boxes without wide empty strips, so that little is read for nothing."""
    waiting = [chosen] if len(chosen) else []
    while waiting:
        some = waiting.pop()
        parted = _parted(some, spots.rows[some]) or _parted(some, spots.columns[some])
        if parted is None:
            yield some
        else:
            waiting.extend(parted)


def _parted(some: Places, along: Places) -> tuple[Places, Places] | None:
    """Part cells at the widest empty strip; None if it is no wide one."""
    lines = np.unique(along)
    if len(lines) < 2:  # noqa: PLR2004 - a strip lies between two
        return None
    gaps = np.diff(lines)
    widest = int(gaps.argmax())
    if gaps[widest] < max(64.0, WIDE_GAP * float(lines[-1] - lines[0])):
        return None
    before = along <= lines[widest]
    return some[before], some[~before]


def _default_fill(found: xr.DataArray) -> float | None:
    """Give the unpacked default fill of packed numbers where the writer named none."""
    import netCDF4

    encoding: dict[str, Any] = dict(found.encoding)
    kind = np.dtype(encoding.get("dtype", found.dtype))
    if "_FillValue" in encoding or "missing_value" in encoding or kind.kind not in "iu":
        return None
    if kind.itemsize == 1:
        return None  # bytes have no default fill
    raw = netCDF4.default_fillvals[f"{kind.kind}{kind.itemsize}"]
    return float(raw) * float(encoding.get("scale_factor", 1.0)) + float(
        encoding.get("add_offset", 0.0)
    )
