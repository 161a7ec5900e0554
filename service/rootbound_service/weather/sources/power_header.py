"""Reads what holds for a whole answer of NASA POWER, and where its features are."""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass
from http import HTTPStatus
from typing import NoReturn, cast

from rootbound_service.public.http import Reply, Unavailable
from rootbound_service.public.replies import Json, odd, part, read_object

IMPOSSIBLE = 1e6
LONGEST_REASON = 300


@dataclass(frozen=True, slots=True)
class Told:
    """An answer of either kind after its header is read."""

    document: Json
    fill: float
    facts: Json
    origins: tuple[str, ...]
    fingerprint: str
    """Hash of what it says; ``times`` differs at every asking and is left out."""


def read_header(reply: Reply, who: str) -> Told:
    """Decode an answer of either kind and read what holds for all of it.

    Parameters
    ----------
    reply
        What came back.
    who
        The service and the cells, for the error's sentence.

    Raises
    ------
    Unavailable
        If the service refused, or its header is not as documented.
    """
    document = read_object(reply, who)
    header = document.get("header")
    if isinstance(header, str) or reply.status != HTTPStatus.OK:
        _refused(document, reply.status, who)
    header = part(document, "header", who)
    if header.get("time_standard", "LST") != "LST":
        odd(who, f"days run by {header['time_standard']}, local solar days (LST) were asked for")
    fill = number(header.get("fill_value"))
    if not math.isfinite(fill):
        odd(who, "the header names no fill_value")
    sources = header.get("sources")
    named = cast("list[object]", sources) if isinstance(sources, list) else []
    said = {name: about for name, about in document.items() if name != "times"}
    return Told(
        document=document,
        fill=fill,
        facts=part(document, "parameters", who),
        origins=tuple(map(str, named)),
        fingerprint=hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest(),
    )


def place_of(feature: Json) -> list[float]:
    """Longitude, latitude [deg] and elevation [m] of a feature, as far as it names them.

    Parameters
    ----------
    feature
        A GeoJSON feature with a point.
    """
    geometry = feature.get("geometry")
    found = cast("Json", geometry).get("coordinates") if isinstance(geometry, dict) else None
    return [number(one) for one in cast("list[object]", found)] if isinstance(found, list) else []


def elevation_of(feature: Json) -> float:
    """Mean elevation of a feature's cell, its third coordinate; NaN where it names none. [m]

    Parameters
    ----------
    feature
        A GeoJSON feature with a point.
    """
    found = place_of(feature)[2:3]
    return found[0] if found and abs(found[0]) < IMPOSSIBLE else math.nan


def number(value: object) -> float:
    """Give a JSON number as a float, infinite beyond a float; NaN for anything else."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return math.nan
    try:
        return float(value)
    except OverflowError:  # JSON's whole numbers have no end
        return math.inf if value > 0 else -math.inf


def _refused(document: Json, status: int, who: str) -> NoReturn:
    """Pass on the service's own reasons."""
    messages = document.get("messages")
    if isinstance(messages, list) and messages:
        said = " ".join(map(str, cast("list[object]", messages)))
    else:
        said = str(document.get("header", "without a reason"))
    what = f"refused the request (HTTP {status}): {said[:LONGEST_REASON]}"
    raise Unavailable(who, what, retry_later=False)
