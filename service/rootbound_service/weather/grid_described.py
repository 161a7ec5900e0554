"""Descriptions of a store's arrays: each says what the others and our layout say, or is mended."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from zarr.core.metadata.v3 import ArrayV3Metadata
from zarr.storage import MemoryStore

from rootbound_service.weather import grid_layout as layout

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rootbound_service.weather.grid_files import Files

GROUP = "zarr.json"
FACTS_MADE = ("quantity", "units")
"""Arrays that have content from the first moment on."""
CHECKSUM = "crc32c"
FIRST_GROWN = next(iter(layout.TABLES))


def descriptions(source: str) -> dict[str, dict[str, Any]]:
    """Give the descriptions of a new store, by key.

    Parameters
    ----------
    source
        Its name.
    """
    memory: dict[str, Any] = {}
    layout.open_arrays(MemoryStore(memory), source)
    return {key: json.loads(content.to_bytes()) for key, content in memory.items() if GROUP in key}


def is_begun(keys: Iterable[str]) -> bool:
    """Tell whether a store holds anything of a cell.

    Parameters
    ----------
    keys
        Of its files.
    """
    made = tuple(f"{name}/" for name in FACTS_MADE)
    return any("/c/" in key and not key.startswith(made) for key in keys)


def mend_descriptions(files: Files, source: str) -> list[str] | None:
    """Write anew, from what the others and the layout say, the descriptions that are spoiled.

    Parameters
    ----------
    files
        Of the store, which holds something.
    source
        Its name.

    Returns
    -------
    list of str or None
        Keys of those written; None where not one could be read.
    """
    fresh = descriptions(source)
    there = {key: json.loads(json.dumps(fresh[key])) for key in fresh if key != GROUP}
    found = {key: _read(files, key, wanted) for key, wanted in there.items()}
    good = {key: one for key, one in found.items() if one is not None}
    if not good:
        return None
    summed = any(_has_sum(one) for one in good.values())
    written: list[str] = []
    sizes = _sizes(good)
    for key, wanted in there.items():
        shape = _shape(key, wanted, sizes)
        one = good.get(key)
        if one is not None and (one["shape"] == shape or not _alone(key, one, good)):
            continue
        wanted["shape"] = shape
        if not summed:
            wanted["codecs"] = [c for c in wanted["codecs"] if c["name"] != CHECKSUM]
        _write(files, key, wanted)
        written.append(key)
    if not _is_group(files):
        _write(files, GROUP, fresh[GROUP])
        written.append(GROUP)
    return written


def _write(files: Files, key: str, told: dict[str, Any]) -> None:
    files.set_aside(key)
    files.put(key, json.dumps(told, indent=2).encode())


def _is_group(files: Files) -> bool:
    told = _json(files.read(GROUP))
    sort = (told.get("node_type"), told.get("zarr_format"))
    return sort == ("group", layout.FORMAT) and isinstance(told.get("attributes"), dict)


def _read(files: Files, key: str, wanted: dict[str, Any]) -> dict[str, Any] | None:
    """A description, None unless it describes what our layout has under this name."""
    told = _json(files.read(key))
    try:
        one, ours = ArrayV3Metadata.from_dict(told), ArrayV3Metadata.from_dict(dict(wanted))
    except Exception:  # noqa: BLE001  whatever it is, it is no description
        return None
    same = (
        one.data_type == ours.data_type
        and one.chunk_grid == ours.chunk_grid
        and one.chunk_key_encoding == ours.chunk_key_encoding
        and bool(np.array_equal([one.fill_value], [ours.fill_value], equal_nan=_is_number(ours)))
        and _codecs(told) == _codecs(wanted)
        and len(one.shape) == len(ours.shape)
    )
    return told if same else None


def _is_number(one: ArrayV3Metadata) -> bool:
    return isinstance(one.fill_value, np.generic | float | int)


def _codecs(told: dict[str, Any]) -> list[str]:
    """Names of the codecs but the checksum, which older stores lack."""
    return [codec["name"] for codec in told["codecs"] if codec["name"] != CHECKSUM]


def _has_sum(told: dict[str, Any]) -> bool:
    return any(codec["name"] == CHECKSUM for codec in told["codecs"])


def _json(content: bytes) -> dict[str, Any]:
    try:
        told: object = json.loads(content)
    except ValueError:
        return {}
    return cast("dict[str, Any]", told) if isinstance(told, dict) else {}


def _axes(key: str) -> tuple[str, ...]:
    """Which of the growing axes an array has, in order."""
    name = key.partition("/")[0]
    if name in layout.TABLES:
        return "quantity", "cell", "day"
    if name in (*layout.CELL_FACTS, "cell"):
        return ("cell",)
    return ("day",) if name == "day" else ("quantity",)


def _sizes(good: dict[str, dict[str, Any]]) -> dict[str, Counter[int]]:
    """How often each length of each axis is told."""
    found: dict[str, Counter[int]] = {"cell": Counter(), "day": Counter()}
    for key, told in good.items():
        for axis, length in zip(_axes(key), told["shape"], strict=True):
            if axis in found:
                found[axis][int(length)] += 1
    return found


def _shape(key: str, wanted: dict[str, Any], sizes: dict[str, Counter[int]]) -> list[int]:
    """The shape that most of the others have."""
    shape: list[int] = list(wanted["shape"])
    for place, axis in enumerate(_axes(key)):
        if sizes.get(axis):
            shape[place] = max(sizes[axis], key=lambda n: (sizes[axis][n], n))
    return shape


def _alone(key: str, told: dict[str, Any], good: dict[str, dict[str, Any]]) -> bool:
    """Whether all others agree on a length that this one does not have.

    A growth that was cut off leaves the first array longer, or the last of an axis shorter;
    nothing is written to it before all have grown, and it is grown to its end.
    """
    if _axes(key) == ("quantity",):
        return True
    others = _sizes({name: one for name, one in good.items() if name != key})
    name = key.partition("/")[0]
    for axis, length in zip(_axes(key), told["shape"], strict=True):
        if axis not in others or len(others[axis]) != 1 or length in others[axis]:
            continue
        longer = length > next(iter(others[axis]))
        cut_off = name == FIRST_GROWN if longer else name == axis  # an axis is grown last
        if not cut_off or (axis == "day" and not layout.is_year_end(int(length))):
            return True
    return False
