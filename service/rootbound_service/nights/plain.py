"""Values as JSON holds them, and back: no number changes, none is left out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, cast

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

ENDLESS = {"inf": math.inf, "-inf": -math.inf, "nan": math.nan}
"""Numbers that JSON has no way to write."""
PLAIN = frozenset({str, int, bool, type(None)})


def plain(value: object) -> object:
    """Turn data classes, dates, enums, arrays and tuples into what JSON holds.

    Parameters
    ----------
    value
        Anything made of plain values; a number without end is written as a word.
    """
    kind = type(value)
    if kind in PLAIN or (kind is float and math.isfinite(cast("float", value))):
        return value  # most of what there is: not asked further, which takes ten times as long
    if isinstance(value, Mapping):
        pairs = cast("Mapping[object, object]", value)
        return {str(plain(key)): plain(item) for key, item in pairs.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, (np.ndarray, np.generic)):
        return _numbers(cast("NDArray[np.generic]", value))
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(item) for item in cast("list[object]", value)]
    return _one(value)


def _numbers(array: NDArray[np.generic]) -> object:
    """An array, or one number of numpy's."""
    found: object = array.tolist()
    finite = array.dtype.kind in "if" and np.isfinite(cast("NDArray[np.float64]", array)).all()
    return found if finite else plain(found)


def _one(value: object) -> object:
    """A single value."""
    if isinstance(value, float) and not math.isfinite(value):
        return str(float(value))
    if isinstance(value, str):
        return str(value)  # an enum's own value
    if isinstance(value, (bool, int, float)) or value is None:
        return value
    return value.isoformat() if isinstance(value, (date, datetime)) else str(value)


def number(value: object) -> float:
    """Read back a number that :func:`plain` wrote."""
    if isinstance(value, str):
        return ENDLESS[value]
    return float(cast("float", value))
