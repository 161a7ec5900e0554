"""The arrays of one source's weather store: their shapes and attributes, made, grown, mended.

Five arrays over (quantity, cell, day): ``value`` as received, ``flag`` (bits of
:class:`~rootbound_service.weather.quality.flags.Flag`), ``status``, ``issued`` (day of the issue
that gave the value) and ``seen`` (day on which we first had a value for it). The day axis ends
with a year, so that it grows once a year. A cell's key is written last: a row without a key is
nobody's, and the next new cell takes it.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import zarr
from zarr.abc.store import Store
from zarr.codecs import BloscCodec, Crc32cCodec, ZstdCodec

from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from zarr import Array, Group

Arrays = dict[str, "Array[Any]"]

FORMAT = 3
"""Of Zarr."""
EPOCH = date(1981, 1, 1)
DAYS_SINCE = "days since 1981-01-01"
NOT_KNOWN = -1
CELL_CHUNK = 256
DAY_CHUNK = 384
"""Chosen by tests/bench/bench_weather.py: one day of many cells, many years of few cells."""
AXIS_CHUNK = 1 << 17
FACT_CHUNK = 4096
DATED = {"units": DAYS_SINCE, "calendar": "proleptic_gregorian", "_FillValue": NOT_KNOWN}
CELL_FACTS = ("lat", "lon", "elevation_m", "asked_from")
TABLES: dict[str, tuple[str, float, dict[str, object]]] = {
    "value": ("f4", np.nan, {"long_name": "value as received", "coordinates": "lat lon"}),
    "flag": ("u2", 0, {"long_name": "quality flags of the value, as bits"}),
    "status": ("u1", 0, {"long_name": "0 unknown, 1 provisional, 2 final"}),
    "issued": ("i4", NOT_KNOWN, {"long_name": "day of the issue that gave the value", **DATED}),
    "seen": ("i4", NOT_KNOWN, {"long_name": "day on which a value was first seen", **DATED}),
}


def open_arrays(root: Path | Store, source: str) -> Arrays:
    """Open the arrays of an existing store, or make them.

    Parameters
    ----------
    root
        Of the Zarr group; one that may only be read is never made.
    source
        Name of the source, for the title of a new store.

    Returns
    -------
    dict of arrays
        By name.
    """
    only_read = isinstance(root, Store) and root.read_only
    group = zarr.open_group(
        root, mode="r" if only_read else "a", zarr_format=3, use_consolidated=False
    )
    arrays = {name: cast("Array[Any]", item) for name, item in group.members()}
    if "cell" not in arrays:
        arrays = _make(group, source)
    kept = ("flag", "asked_from") if is_summed(arrays["flag"]) else ("asked_from",)
    for name in kept:  # so that one that is gone is missed
        arrays[name] = arrays[name].with_config({"write_empty_chunks": True})
    return arrays


def is_summed(array: Array[Any]) -> bool:
    """Tell whether chunks carry a checksum, as in stores made since there is one.

    In these a chunk of flags is there wherever values are.

    Parameters
    ----------
    array
        Any array of the store.
    """
    return any(isinstance(codec, Crc32cCodec) for codec in array.compressors)


def index_of(day: date) -> int:
    """Place of a day on the day axis, from 0 on 1 January 1981."""
    return (day - EPOCH).days


def day_at(index: int) -> date | None:
    """Give the day at a place on the axis, None for a place below it."""
    return None if index < 0 else EPOCH + timedelta(days=index)


def year_end_days(last: date) -> int:
    """Length of a day axis that holds ``last`` and the rest of its year."""
    return index_of(date(last.year, 12, 31)) + 1


def is_year_end(days: int) -> bool:
    """Tell whether a day axis of this length ends with a year.

    Parameters
    ----------
    days
        Its length.
    """
    last = day_at(days - 1)
    return last is not None and (last.month, last.day) == (12, 31)


def mend(arrays: Arrays) -> None:
    """Give all arrays one size again after a growth that was cut off."""
    cells = max(arrays[name].shape[1] for name in TABLES)
    cells = max(cells, *(arrays[name].shape[0] for name in (*CELL_FACTS, "cell")))
    days = max(arrays["day"].shape[0], *(arrays[name].shape[2] for name in TABLES))
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
    for name in TABLES:
        shape = arrays[name].shape
        wanted = (shape[0], max(cells, shape[1]), max(days, shape[2]))
        if wanted != shape:
            arrays[name].resize(wanted)
    axis = arrays["day"]
    if days > axis.shape[0]:
        axis.resize((days,))
        axis[:] = np.arange(days, dtype=np.int32)
    for name in (*CELL_FACTS, "cell"):
        if cells > arrays[name].shape[0]:
            arrays[name].resize((cells,))


def _make(group: Group, source: str) -> Arrays:
    """Make empty arrays; ``cell`` last, since its presence says that all are there."""
    title = f"Daily weather of grid cells of {source}, as received, with quality flags"
    group.attrs.update({"title": title, "source": source, "Conventions": "CF-1.11"})
    arrays = {name: _table(group, name) for name in TABLES}
    names = {"long_name": "name of the quantity"}
    for name, words, facts in (
        ("quantity", QUANTITY_NAMES, names),
        ("units", [q.units for q in QUANTITIES], {"long_name": "unit of the quantity"}),
    ):
        arrays[name] = _line(group, name, "quantity", str, "", facts)
        arrays[name].resize((len(QUANTITIES),))
        arrays[name][:] = np.array(words, dtype=object)
    given = {"long_name": "1 where the source gives this quantity"}
    arrays["given"] = _line(group, "given", "quantity", "u1", 0, given)
    arrays["given"].resize((len(QUANTITIES),))
    day = {"standard_name": "time", "units": DAYS_SINCE, "calendar": "proleptic_gregorian"}
    arrays["day"] = _line(group, "day", "day", "i4", 0, day)
    arrays["lat"] = _line(group, "lat", "cell", "f8", np.nan, {"units": "degrees_north"})
    arrays["lon"] = _line(group, "lon", "cell", "f8", np.nan, {"units": "degrees_east"})
    arrays["elevation_m"] = _line(group, "elevation_m", "cell", "f8", np.nan, {"units": "m"})
    asked = {"long_name": "first day ever asked for", **DATED}
    arrays["asked_from"] = _line(group, "asked_from", "cell", "i4", NOT_KNOWN, asked)
    arrays["cell"] = _line(group, "cell", "cell", str, "", {"long_name": "key of the grid cell"})
    return arrays


def _table(group: Group, name: str) -> Array[Any]:
    """Make one array over (quantity, cell, day)."""
    dtype, fill, facts = TABLES[name]
    many = len(QUANTITIES)
    return group.create_array(
        name,
        shape=(many, 0, 0),
        chunks=(many, CELL_CHUNK, DAY_CHUNK),
        dtype=dtype,
        fill_value=fill,
        compressors=(BloscCodec(cname="lz4", clevel=3, shuffle="shuffle"), Crc32cCodec()),
        dimension_names=("quantity", "cell", "day"),
        attributes=cast("Any", facts),
        overwrite=True,
    )


def _line(
    group: Group,
    name: str,
    along: str,
    dtype: str | type[str],
    fill: object,
    facts: Mapping[str, object],
) -> Array[Any]:
    """Make one array over the cells, the days or the quantities."""
    return group.create_array(
        name,
        shape=(0,),
        chunks=(AXIS_CHUNK if along == "day" else FACT_CHUNK,),
        dtype=dtype,
        fill_value=fill,
        compressors=(ZstdCodec(), Crc32cCodec()),
        dimension_names=(along,),
        attributes=cast("Any", facts),
        overwrite=True,
    )
