"""Layers of the National Weather Service's grid: values that hold over intervals, in our units."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

from rootbound_service.public.replies import is_number, odd
from rootbound_service.weather.forecast.intervals import Interval, read_interval

if TYPE_CHECKING:
    from rootbound_service.public.replies import Json
    from rootbound_service.weather.forecast.intervals import Seconds

MOST_INTERVALS = 5000


@dataclass(frozen=True, slots=True)
class Kind:
    """Which units a layer may have, what takes them to ours, and what can be in ours."""

    factors: Mapping[str, float]
    low: float
    high: float


TEMPERATURE = Kind({"degC": 1.0}, -90.0, 65.0)
RAIN = Kind({"mm": 1.0}, 0.0, 2000.0)
SHARE = Kind({"percent": 0.01}, 0.0, 1.0)
WIND = Kind({"km_h-1": 1.0 / 3.6, "m_s-1": 1.0}, 0.0, 100.0)


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """What one quantity is over consecutive intervals; those without a value are left out."""

    begins: Seconds
    ends: Seconds
    values: Seconds

    @property
    def has_any(self) -> bool:
        """Whether there is a value at all."""
        return self.values.size > 0


def read_layer(properties: Json, name: str, kind: Kind, who: str) -> Layer:
    """Read one layer; one that is absent or has no values is empty, which is no zero.

    Parameters
    ----------
    properties
        Of the answer.
    name
        The service's name of the layer.
    kind
        What it is of.
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        If it has another shape, intervals overlap, or a value is impossible.
    """
    layer = properties.get(name, {})
    values = cast("Json", layer).get("values", []) if isinstance(layer, dict) else None
    if not isinstance(values, list):
        odd(who, f"{name} has no list of values")
    entries = cast("list[object]", values)
    if not entries:  # an empty layer says no unit
        return _layer([], [])
    if len(entries) > MOST_INTERVALS:
        odd(who, f"{name} has {len(entries)} intervals")
    factor = _factor(cast("Json", layer).get("uom"), name, kind.factors, who)
    read = [_entry(entry, name, who) for entry in entries]
    kept = [(interval, value) for interval, value in read if value is not None]
    kept.sort(key=lambda entry: entry[0].begin)
    found = _layer([interval for interval, _ in kept], [value * factor for _, value in kept])
    if (found.begins[1:] < found.ends[:-1]).any():
        odd(who, f"{name} has two values for one time")
    beyond = found.values[(found.values < kind.low) | (found.values > kind.high)]
    if beyond.size:
        odd(who, f"{name} holds {beyond[0]:g}, which cannot be")
    return found


def _factor(unit: object, name: str, units: Mapping[str, float], who: str) -> float:
    """What takes the layer's unit to ours."""
    said = unit.rpartition(":")[2] if isinstance(unit, str) else ""
    if said not in units:
        odd(who, f"{name} is in {str(unit)[:40]!r} instead of {' or '.join(units)}")
    return units[said]


def _entry(entry: object, name: str, who: str) -> tuple[Interval, float | None]:
    """Read one value with its interval."""
    if not isinstance(entry, dict):
        odd(who, f"{name} holds something that is no value with a time")
    known = cast("Json", entry)
    when, value = known.get("validTime"), known.get("value")
    if not isinstance(when, str):
        odd(who, f"{name} holds a value without a time")
    try:
        interval = read_interval(when)
    except ValueError as error:
        odd(who, f"{name}: {error}")
    if value is None:
        return interval, None
    try:
        number = float(cast("float", value)) if is_number(value) else math.nan
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        odd(who, f"{name} holds {str(value)[:40]!r}, which is no number")
    return interval, number


def _layer(intervals: list[Interval], values: list[float]) -> Layer:
    """Put intervals and values into arrays."""
    begins = np.array([one.begin for one in intervals], dtype=np.float64)
    ends = np.array([one.end for one in intervals], dtype=np.float64)
    return Layer(begins, ends, np.array(values, dtype=np.float64))
