"""The arrays of the weather store: their names, shapes and attributes, made, grown and mended.

Every quantity has three arrays over (cell, day): its value, ``flag_`` (bits of
:class:`~rootbound_service.weather.quality.Flag`) and ``issued_`` (the date of the answer
that first gave the value). The day axis ends with a year, so that it grows once a year.
A cell's key is written last: a row without a key is nobody's, and the next new cell takes it.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import zarr

from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from zarr import Array, Group

Arrays = dict[str, "Array[Any]"]

EPOCH = date(1981, 1, 1)
DAYS_SINCE = "days since 1981-01-01"
DAY_CHUNK = 20480
CELL_CHUNK = 1024
NOT_ISSUED = -1
DATED = {"units": DAYS_SINCE, "calendar": "proleptic_gregorian", "_FillValue": NOT_ISSUED}
CELL_FACTS = ("lat", "lon", "elevation_m", "asked_from")

TITLE = "Daily weather of grid cells from NASA POWER, as received, with quality flags"
THANKS = (
    "These data were obtained from the NASA Langley Research Center POWER Project funded "
    "through the NASA Earth Science Directorate Applied Science Program."
)


def open_arrays(path: Path) -> Arrays:
    """Open the arrays of an existing store, or make them.

    Parameters
    ----------
    path
        The Zarr group.

    Returns
    -------
    dict of arrays
        By name.
    """
    group = zarr.open_group(path, mode="a", zarr_format=3, use_consolidated=False)
    arrays = {name: cast("Array[Any]", item) for name, item in group.members()}
    if "cell" not in arrays:
        _make(group, arrays)
    return arrays


def row_names() -> tuple[str, ...]:
    """Name the arrays over (cell, day)."""
    return tuple(prefix + name for name in QUANTITY_NAMES for prefix in ("", "flag_", "issued_"))


def index_of(day: date) -> int:
    """Place of a day on the day axis, from 0 on 1 January 1981."""
    return (day - EPOCH).days


def mend(arrays: Arrays) -> None:
    """Give all arrays one size again after a growth that was cut off."""
    cells = max(arrays[name].shape[0] for name in (*row_names(), *CELL_FACTS, "cell"))
    days = max(arrays["day"].shape[0], *(arrays[name].shape[1] for name in row_names()))
    grow(arrays, cells, days)


def grow(arrays: Arrays, cells: int, days: int) -> None:
    """Make every array at least this large; ``day`` and ``cell`` come last.

    Parameters
    ----------
    arrays
        As opened.
    cells, days
        The least sizes wanted.
    """
    for name in row_names():
        shape = arrays[name].shape
        wanted = (max(cells, shape[0]), max(days, shape[1]))
        if wanted != shape:
            arrays[name].resize(wanted)
    axis = arrays["day"]
    if days > axis.shape[0]:
        axis.resize((days,))
        axis[:] = np.arange(days, dtype=np.int32)
    for name in (*CELL_FACTS, "cell"):
        if cells > arrays[name].shape[0]:
            arrays[name].resize((cells,))


def year_end_days(last: date) -> int:
    """Length of a day axis that holds ``last`` and the rest of its year."""
    return index_of(date(last.year, 12, 31)) + 1


def _make(group: Group, arrays: Arrays) -> None:
    """Make empty arrays; ``cell`` last, since its presence says that all are there."""
    group.attrs.update({"title": TITLE, "acknowledgement": THANKS, "Conventions": "CF-1.11"})
    for quantity in QUANTITIES:
        text = {"long_name": quantity.longname}
        name = quantity.name
        facts = {**text, "units": quantity.units, "coordinates": "lat lon elevation_m"}
        arrays[name] = _table(group, name, "f4", np.nan, facts)
        flag = {"long_name": f"why {name} is not used: 1 limit, 2 internal, 4 radiation"}
        arrays[f"flag_{name}"] = _table(group, f"flag_{name}", "u1", 0, flag)
        issued = {"long_name": f"date of the answer that gave {name}", **DATED}
        arrays[f"issued_{name}"] = _table(group, f"issued_{name}", "i4", NOT_ISSUED, issued)
    day = {"standard_name": "time", "units": DAYS_SINCE, "calendar": "proleptic_gregorian"}
    arrays["day"] = _line(group, "day", "i4", 0, day)
    arrays["lat"] = _line(group, "lat", "f8", np.nan, {"units": "degrees_north"})
    arrays["lon"] = _line(group, "lon", "f8", np.nan, {"units": "degrees_east"})
    arrays["elevation_m"] = _line(group, "elevation_m", "f8", np.nan, {"units": "m"})
    asked = {"long_name": "first day ever asked for", **DATED}
    arrays["asked_from"] = _line(group, "asked_from", "i4", NOT_ISSUED, asked)
    arrays["cell"] = _line(group, "cell", str, "", {"long_name": "key of the grid cell"})


def _table(
    group: Group, name: str, dtype: str, fill: float, facts: Mapping[str, object]
) -> Array[Any]:
    """Make one array over (cell, day)."""
    return group.create_array(
        name,
        shape=(0, 0),
        chunks=(1, DAY_CHUNK),
        dtype=dtype,
        fill_value=fill,
        dimension_names=("cell", "day"),
        attributes=cast("Any", facts),
        overwrite=True,
    )


def _line(
    group: Group, name: str, dtype: str | type[str], fill: object, facts: Mapping[str, object]
) -> Array[Any]:
    """Make one array over the cells, or the day axis itself."""
    return group.create_array(
        name,
        shape=(0,),
        chunks=(DAY_CHUNK * 8 if name == "day" else CELL_CHUNK,),
        dtype=dtype,
        fill_value=fill,
        dimension_names=("day" if name == "day" else "cell",),
        attributes=cast("Any", facts),
        overwrite=True,
    )
