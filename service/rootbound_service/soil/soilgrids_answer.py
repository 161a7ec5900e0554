"""Reads an answer of SoilGrids: mapped whole numbers over the divisor that the answer names."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, cast

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import OK, is_number, items, odd, part, read_object
from rootbound_service.soil.profile import Layer

if TYPE_CHECKING:
    from rootbound_service.public.http import Reply
    from rootbound_service.public.replies import Json

PER_CENT = ("%", "vol %", "10^-2 cm3/cm3", "cm3/100cm3")
PLAIN = str.maketrans("⁻²³", "-23")
DEEPEST_CM = 1000.0
ASIDE_MOST_DEG = 0.01
"""An answer names its place; further from ours than some cells it is not ours. [deg]"""


@dataclass(frozen=True, slots=True)
class Property:
    """One property: our name, the units it may come in, our value of one unit, the most."""

    ours: str
    units: tuple[str, ...]
    factor: float
    most: float


def properties(matter_of_carbon: float) -> dict[str, Property]:
    """What is asked for, by the service's names.

    Parameters
    ----------
    matter_of_carbon
        Organic matter in one gram of organic carbon. [g g-1]
    """
    return {
        "clay": Property("clay_pct", ("%",), 1.0, 100.0),
        "sand": Property("sand_pct", ("%",), 1.0, 100.0),
        "silt": Property("silt_pct", ("%",), 1.0, 100.0),
        "soc": Property("organic_matter_pct", ("g/kg",), 0.1 * matter_of_carbon, 100.0),
        "bdod": Property("bulk_density", ("kg/dm3", "g/cm3"), 1.0, 3.0),
        "wv0033": Property("field_capacity", PER_CENT, 0.01, 1.0),
        "wv1500": Property("wilting_point", PER_CENT, 0.01, 1.0),
    }


def read_layers(
    reply: Reply, who: str, wanted: dict[str, Property], at: tuple[float, float]
) -> tuple[Layer, ...]:
    """Read the layers of one place.

    Parameters
    ----------
    reply
        What came back.
    who
        The service and the place, for the error's sentence.
    wanted
        From :func:`properties`.
    at
        The latitude and longitude that were asked for. [deg]

    Returns
    -------
    tuple of Layer
        From the top down; empty where the place is masked (water, town): every value null.

    Raises
    ------
    Unavailable
        If the request was refused or the answer is not as documented.
    """
    document = read_object(reply, who)
    if reply.status != OK:
        _refused(document, reply.status, who)
    _check_place(document, at, who)
    found: dict[tuple[float, float], dict[str, float]] = {}
    seen: set[str] = set()
    for item in items(part(document, "properties", who), "layers", who):
        layer = _object(item, "a layer", who)
        name = str(layer.get("name"))
        if name in seen:
            odd(who, f"{name} is there twice")
        seen.add(name)
        if name in wanted:
            _read_property(layer, name, wanted[name], found, who)
    if not seen & set(wanted):
        odd(who, f"none of {', '.join(wanted)} is in the answer")
    spans = sorted(found)
    for upper, lower in pairwise(spans):
        if lower[0] < upper[1]:
            odd(who, f"two layers lie at {lower[0]:g} cm")
    if not any(found.values()):
        return ()
    return tuple(_layer(span, found[span]) for span in spans)


def _check_place(document: Json, at: tuple[float, float], who: str) -> None:
    """Refuse the soil of another place than the one asked for, where the answer names it."""
    coordinates = _member(document.get("geometry")).get("coordinates")
    lon_lat = cast("list[object]", coordinates)[:2] if isinstance(coordinates, list) else []
    for said, asked in zip(lon_lat, reversed(at), strict=False):
        if not _is_finite(said) or abs(cast("float", said) - asked) > ASIDE_MOST_DEG:
            odd(who, f"the answer is of another place, {said!r} instead of {asked:.4f}")


def _layer(span: tuple[float, float], values: dict[str, Any]) -> Layer:
    return Layer(*span, **values)


def _read_property(
    layer: Json,
    name: str,
    wanted: Property,
    found: dict[tuple[float, float], dict[str, float]],
    who: str,
) -> None:
    """Put one property's values into the layers they belong to."""
    units = part(layer, "unit_measure", who)
    divisor = units.get("d_factor")
    if not _is_finite(divisor) or cast("float", divisor) <= 0:
        odd(who, f"{name} names no d_factor")
    unit = str(units.get("target_units")).translate(PLAIN).strip()
    if unit not in wanted.units:
        known = " or ".join(wanted.units)
        odd(who, f"{name} comes in {unit!r}, a unit we do not know; known: {known}")
    for item in items(layer, "depths", who):
        depth = _object(item, f"a depth of {name}", who)
        values = found.setdefault(_span(depth, name, who), {})
        mean = part(depth, "values", who).get("mean")
        if mean is None:
            continue
        if not _is_finite(mean):
            odd(who, f"{name} is {mean!r}, which is no number")
        value = cast("float", mean) / cast("float", divisor) * wanted.factor
        if not 0.0 <= value <= wanted.most:
            odd(who, f"{name} is {mean!r}, no soil has that")
        if wanted.ours in values:
            odd(who, f"a depth of {name} is there twice")
        values[wanted.ours] = round(value, 6)


def _span(depth: Json, name: str, who: str) -> tuple[float, float]:
    """Top and bottom. [cm]"""
    span = part(depth, "range", who)
    top, bottom = span.get("top_depth"), span.get("bottom_depth")
    if span.get("unit_depth") != "cm":
        odd(who, f"a depth of {name} is in {span.get('unit_depth')!r}, not in cm")
    if not _is_finite(top) or not _is_finite(bottom):
        odd(who, f"a depth of {name} runs from {top!r} to {bottom!r}")
    ends = float(cast("float", top)), float(cast("float", bottom))
    if not 0.0 <= ends[0] < ends[1] <= DEEPEST_CM:
        odd(who, f"a depth of {name} runs from {ends[0]:g} to {ends[1]:g} cm")
    return ends


def _refused(document: Json, status: int, who: str) -> None:
    """Pass on the service's own reasons."""
    detail = document.get("detail")
    reasons = [
        f"{_last(one.get('loc'))}: {one.get('msg')}"
        for one in map(_member, cast("list[object]", detail) if isinstance(detail, list) else [])
    ]
    said = "; ".join(reasons) or (detail if isinstance(detail, str) else "without a reason")
    what = f"refused the request (HTTP {status}): {said[:200]}"
    raise Unavailable(who, what, retry_later=False)


def _last(loc: object) -> str:
    """The name of what was refused: the end of its path."""
    return str(cast("list[object]", loc)[-1]) if isinstance(loc, list) and loc else "the request"


def _member(item: object) -> Json:
    """An object as it is, anything else as an empty one."""
    return cast("Json", item) if isinstance(item, dict) else {}


def _object(item: object, what: str, who: str) -> Json:
    if not isinstance(item, dict):
        odd(who, f"{what} is no JSON object")
    return cast("Json", item)


def _is_finite(value: object) -> bool:
    try:
        return is_number(value) and math.isfinite(cast("float", value))
    except OverflowError:
        return False
