"""Reads OPeNDAP's ascii answer to one box of one variable; only the box asked for is accepted."""

from __future__ import annotations

import re
from datetime import date
from itertools import product

import numpy as np
from numpy.typing import NDArray

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import odd
from rootbound_service.weather.sources.gridmet_das import NUMBER, Packing
from rootbound_service.weather.sources.gridmet_names import (
    CENTRE_DEG,
    GRID,
    Box,
    Variable,
    day_at,
)
from rootbound_service.weather.sources.gridmet_reply import cut_short

RULE = re.compile(r"-{5,}\s*")
TITLE = re.compile(r"([\w.]+?)((?:\[\d{1,7}\])+)\s*")

MOST_PACKED = 65535.0

Numbers = NDArray[np.float64]
Part = tuple[str, list[str]]
"""Lengths as written, such as "[4][1][1]", and the lines below."""


def read_ascii(
    text: str, variable: Variable, box: Box, packing: Packing, epoch: date, who: str
) -> Numbers:
    """Read the values of a box, shape (day, row, column), in the variable's unit.

    Parameters
    ----------
    text
        The answer.
    variable, box
        What was asked for.
    packing, epoch
        As the service describes the variable and its days.
    who
        The service and the cells, for the error's sentence.

    Raises
    ------
    Unavailable
        If it is not the whole box, and only that; cut short, it may be asked for again.
    """
    try:
        return packing.unpack(_packed(text, variable, box, epoch, who))
    except Unavailable:
        if not text.endswith("\n"):  # whatever is odd about it: it broke off within a line
            cut_short(who)
        raise


def _packed(text: str, variable: Variable, box: Box, epoch: date, who: str) -> Numbers:
    """Read the packed numbers and hold the axes against those asked for."""
    parts = _parts(text, who)
    inside = variable.inside
    packed = _grid(parts.get(f"{inside}.{inside}"), box, who)
    if not (np.abs(packed) <= MOST_PACKED).all() or not (packed == np.round(packed)).all():
        odd(who, f"{variable.short} holds a number that is not packed in two bytes")
    first = (day_at(box.days[0]) - epoch).days
    axes = {
        "day": (np.arange(first, first + len(box.days), dtype=np.float64), 0.0),
        "lat": (np.array([GRID.cell(row, 0).lat for row in box.rows]), CENTRE_DEG),
        "lon": (np.array([GRID.cell(0, column).lon for column in box.columns]), CENTRE_DEG),
    }
    for axis, (expected, near) in axes.items():
        found = _axis(parts.get(f"{inside}.{axis}"), len(expected), who)
        if not (np.abs(found - expected) <= near).all():
            odd(who, f"{axis} is not the one asked for")
    return packed


def _parts(text: str, who: str) -> dict[str, Part]:
    """Cut the answer below the dashes at the lines that name an array."""
    lines = text.splitlines()
    start = next((i for i, line in enumerate(lines) if RULE.fullmatch(line)), None)
    if start is None:
        if text.lstrip().startswith("Dataset"):
            cut_short(who)
        odd(who, "the answer is no OPeNDAP ascii")
    found: dict[str, Part] = {}
    below: list[str] | None = None
    for line in lines[start + 1 :]:
        if not line.strip():
            continue
        if match := TITLE.fullmatch(line):
            if match[1] in found:
                odd(who, f"{match[1][:60]} is there twice")
            below = []
            found[match[1]] = (match[2], below)
        elif below is None:
            odd(who, "numbers come before the name of what they are")
        else:
            below.append(line)
    return found


def _grid(part: Part | None, box: Box, who: str) -> Numbers:
    """Read the rows of the three-dimensional array, each with its place before it."""
    if part is None:
        cut_short(who)
    lengths, lines = part
    if lengths != "".join(f"[{n}]" for n in box.shape):
        odd(who, f"another box came than was asked for: {lengths[:40]}")
    days, rows, columns = box.shape
    if len(lines) < days * rows:
        cut_short(who)
    if len(lines) > days * rows:
        odd(who, "more rows came than were asked for")
    found = np.empty((days * rows, columns))
    for index, ((day, row), line) in enumerate(
        zip(product(range(days), range(rows)), lines, strict=True)
    ):
        head, _, rest = line.partition(",")
        if head.strip() != f"[{day}][{row}]":
            odd(who, f"row [{day}][{row}] is not where it belongs")
        found[index] = _numbers(rest, columns, who)
    return found.reshape(box.shape)


def _axis(part: Part | None, length: int, who: str) -> Numbers:
    """Read an axis: a list of numbers, on one line or several."""
    if part is None or not part[1]:
        cut_short(who)
    if part[0] != f"[{length}]":
        odd(who, f"an axis has other lengths than asked for: {part[0][:40]}")
    return _numbers(",".join(line.rstrip().rstrip(",") for line in part[1]), length, who)


def _numbers(text: str, count: int, who: str) -> Numbers:
    """Read so many numbers from between commas."""
    words = [word.strip() for word in text.split(",")]
    if len(words) < count or not words[-1]:
        cut_short(who)
    wrong = [word for word in words if not NUMBER.fullmatch(word)]
    if wrong or len(words) > count:
        odd(who, f"{wrong[0][:40]!r} is no number" if wrong else "a row is too long")
    return np.array([float(word) for word in words])
