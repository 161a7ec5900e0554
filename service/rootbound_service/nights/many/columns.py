"""Risk rows as arrays by column: what a part of a sweep holds, the same bytes for the same rows."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date
from operator import attrgetter
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.records import RiskRecord

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Arrays = Mapping[str, NDArray[Any]]

NAMES = tuple(one.name for one in fields(RiskRecord))
DATES = {"night", "weather_through", "changed_on"}
WORDS = {"status", "reason", "stage", "days_ahead_kind"}
FLAGS = {"said_free"}
COUNTS = {
    "season_id", "rung", "raw_rung", "free_rung", "nights_below", "said_rung", "nights_under_said",
}  # fmt: skip
NONE = np.iinfo(np.int64).min
"""Stands for no number among whole ones."""
_all_of = attrgetter(*NAMES)


def to_columns(rows: Sequence[RiskRecord], prefix: str = "row_") -> dict[str, NDArray[Any]]:
    """Lay rows out by column.

    Parameters
    ----------
    rows
        In any order; it is kept.
    prefix
        Before each column's name.
    """
    columns = zip(*map(_all_of, rows), strict=True) if rows else ((),) * len(NAMES)
    return {
        prefix + name: _array(name, column) for name, column in zip(NAMES, columns, strict=True)
    }


def from_columns(arrays: Arrays, prefix: str = "row_") -> list[RiskRecord]:
    """Give the rows back.

    Parameters
    ----------
    arrays, prefix
        From :func:`to_columns`.
    """
    columns = [_values(name, arrays[prefix + name]) for name in NAMES]
    return [RiskRecord(*values) for values in zip(*columns, strict=True)]


def to_text(told: object) -> NDArray[np.uint8]:
    """Pack what JSON holds as bytes."""
    text = json.dumps(told, separators=(",", ":"), sort_keys=True)
    return np.frombuffer(text.encode(), np.uint8)


def from_text(packed: NDArray[Any]) -> Any:
    """Unpack what :func:`to_text` packed."""
    return json.loads(packed.tobytes())


def _array(name: str, column: Sequence[Any]) -> NDArray[Any]:
    """One column."""
    if name in DATES:
        return np.array([NONE if one is None else one.toordinal() for one in column], np.int64)
    if name in COUNTS:
        return np.array([NONE if one is None else one for one in column], np.int64)
    if name in WORDS:
        return np.array([str(one) for one in column] or [""], "U")[: len(column)]
    if name in FLAGS:
        return np.array(column, np.bool_)
    if name == "detail":
        return to_text(list(column))
    return np.array([np.nan if one is None else one for one in column], np.float64)


def _values(name: str, array: NDArray[Any]) -> list[Any]:
    """One column's values; not-a-number and the least number stand for none."""
    if name == "detail":
        told: list[Any] = from_text(array)
        return told
    values: list[Any] = array.tolist()
    if name in DATES:
        return [None if one == NONE else date.fromordinal(one) for one in values]
    if name in COUNTS:
        return [None if one == NONE else one for one in values]
    if name in WORDS or name in FLAGS:
        return values
    return [None if one != one else one for one in values]  # noqa: PLR0124  not a number
