"""Reads what OPeNDAP says about a data set: how its numbers are packed, how long its axes are."""

from __future__ import annotations

import math
import re
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from rootbound_service.public.replies import odd
from rootbound_service.weather.sources.gridmet_names import GRID, Variable
from rootbound_service.weather.sources.gridmet_reply import cut_short

OPEN = re.compile(r"\s*([\w.]+)\s*\{\s*")
ATTRIBUTE = re.compile(r"\s*(\w+)\s+(\w+)\s+(.*?);\s*")
EPOCH = re.compile(r"days since (\d{4})-(\d{1,2})-(\d{1,2})(?:[ T]0{1,2}(?::00){0,2}(?:\.0)?)?Z?")
LENGTH = re.compile(r"\[(day|lat|lon) = (\d{1,7})\]")
NUMBER = re.compile(r"[-+]?\d{1,15}(?:\.\d{0,20})?(?:[eE][-+]?\d{1,2})?", re.ASCII)
TWO_BYTES = 65536
IMPOSSIBLE = 1e6

Attributes = dict[str, str]


@dataclass(frozen=True, slots=True)
class Packing:
    """How to make values of the packed numbers."""

    scale: float
    offset: float
    fills: tuple[float, ...]
    units: str
    unsigned: bool = False

    def unpack(self, packed: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the values, NaN where the number is a fill.

        Parameters
        ----------
        packed
            Numbers as received.
        """
        whole = np.where(packed < 0, packed + TWO_BYTES, packed) if self.unsigned else packed
        values = whole * self.scale + self.offset
        return np.where(np.isin(whole, self.fills), np.nan, values)


def read_das(text: str, variable: Variable, who: str) -> tuple[Packing, date]:
    """Read a variable's packing and the day that the axis of days counts from.

    Parameters
    ----------
    text
        The answer.
    variable
        Whose.
    who
        The service and the cells, for the error's sentence.

    Raises
    ------
    Unavailable
        If one of them is missing or is not as documented.
    """
    blocks = _blocks(text, who)
    if variable.inside not in blocks or "day" not in blocks:
        odd(who, f"{variable.inside} or its days are not described")
    return packing_of(blocks[variable.inside], variable, who), _epoch(blocks["day"], who)


def packing_of(about: Attributes, variable: Variable, who: str) -> Packing:
    """Read the packing out of a variable's attributes.

    Parameters
    ----------
    about
        Name -> text.
    variable, who
        As for :func:`read_das`.

    Raises
    ------
    Unavailable
        If a number is none, or the unit is not known to us.
    """
    units = about.get("units", "")
    if units not in variable.units:
        known = " or ".join(variable.units)
        odd(who, f"{variable.short} comes in {units!r}, a unit we do not know; known: {known}")
    if "scale_factor" not in about:  # without it a number may be ten times too large unseen
        odd(who, f"{variable.short} does not say how it is packed")
    scale = _number(about, "scale_factor", 1.0, who)
    offset = _number(about, "add_offset", 0.0, who)
    names = [name for name in ("_FillValue", "missing_value") if name in about]
    fills = tuple(_number(about, name, math.nan, who) for name in names)
    if not (0 < scale <= IMPOSSIBLE and abs(offset) <= IMPOSSIBLE):
        odd(who, f"{variable.short} is packed by {scale:g} and {offset:g}")
    return Packing(scale, offset, fills, units, about.get("_Unsigned", "").lower() == "true")


def read_dds(text: str, who: str) -> int:
    """Read how many days there are, and check that the grid is the one we know.

    Parameters
    ----------
    text, who
        As for :func:`read_das`.

    Raises
    ------
    Unavailable
        If the lengths are missing or contradict each other.
    """
    if "}" not in text:
        cut_short(who)
    found = {
        axis: {int(n) for a, n in LENGTH.findall(text) if a == axis}
        for axis in ("day", "lat", "lon")
    }
    for axis, length in (("lat", GRID.rows), ("lon", GRID.columns)):
        if found[axis] != {length}:
            odd(who, f"the grid has changed: {axis} is not {length} long")
    if len(found["day"]) != 1:
        odd(who, "the number of days is not told")
    return found["day"].pop()


def _blocks(text: str, who: str) -> dict[str, Attributes]:
    """Attributes by the name of their variable; what stands deeper is not ours."""
    found: dict[str, Attributes] = {}
    path: list[str] = []
    for line in text.splitlines():
        if match := OPEN.fullmatch(line):
            path.append(match[1])
        elif line.strip() == "}":
            if not path:
                odd(who, "the description closes more than it opens")
            path.pop()
        elif len(path) == 2 and (match := ATTRIBUTE.fullmatch(line)):  # noqa: PLR2004 - variable, then attribute
            about = found.setdefault(path[1], {})
            if about.setdefault(match[2], _text(match[3])) != _text(match[3]):
                odd(who, f"{path[1]} has two {match[2]}")
    if path or not text.rstrip().endswith("}"):
        cut_short(who)
    return found


def _text(value: str) -> str:
    """Take a text out of its quotes."""
    value = value.strip()
    return value[1:-1] if len(value) > 1 and value[0] == value[-1] == '"' else value


def _number(about: Attributes, name: str, otherwise: float, who: str) -> float:
    """Read a number among the attributes."""
    if name not in about:
        return otherwise
    if not NUMBER.fullmatch(about[name]):
        odd(who, f"{name} is {about[name][:40]!r}, which is no number")
    return float(about[name])


def _epoch(about: Attributes, who: str) -> date:
    """Read the day that days are counted from."""
    said = about.get("units", "").strip()
    match = EPOCH.fullmatch(said)
    found = None
    if match is not None:
        with suppress(ValueError):
            found = date(int(match[1]), int(match[2]), int(match[3]))
    if found is None:
        odd(who, f"days are counted in {said[:40]!r}")
    return found
