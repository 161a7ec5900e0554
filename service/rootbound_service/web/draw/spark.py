"""The last weeks of water in reach as a picture the size of a word, for lists."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rootbound_service.notes.units import water
from rootbound_service.records import Units
from rootbound_service.web.draw.marks import path, tag, titled

WIDE, TALL = 120.0, 28.0
EDGE = 3.0
LEAST_MM = 10.0
"""The scale holds at least this, or a dry field's last drops would look like a flood. [mm]"""


def spark_svg(held_mm: Sequence[float], free_mm: Sequence[float], units: Units) -> str:
    """Draw both twins' water in reach of the last days, the last at the right.

    Parameters
    ----------
    held_mm, free_mm
        Water in reach a day; not a number where unknown. [mm]
    units
        The reader's.

    Returns
    -------
    str
        SVG; empty where fewer than two days are known.
    """
    every = [mm for mm in (*held_mm, *free_mm) if math.isfinite(mm)]
    lines = [_line(one, max([*every, LEAST_MM])) for one in (free_mm, held_mm)]
    if not any(len(line) > 1 for line in lines):
        return ""
    drawn = [path(line, kind) for line, kind in zip(lines, ("free", "held"), strict=True) if line]
    held = lines[1]
    if held:
        drawn.append(tag("circle", cx=held[-1][0], cy=held[-1][1], r=2.4, class_="now"))
    foot = tag("line", x1=0.0, x2=WIDE, y1=TALL - 1, y2=TALL - 1, class_="hair")
    about = titled(_said(held_mm, free_mm, units))
    return tag(
        "svg",
        "".join([about, foot, *drawn]),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDE:g} {TALL:g}",
        width=WIDE,
        height=TALL,
        class_="spark",
        role="img",
    )


def _line(values: Sequence[float], high: float) -> list[tuple[float, float]]:
    """Where the days lie; the foot is no water at all."""
    wide = (WIDE - 2 * EDGE) / max(len(values) - 1, 1)
    return [
        (EDGE + i * wide, TALL - EDGE - min(max(mm / high, 0.0), 1.0) * (TALL - 2 * EDGE))
        for i, mm in enumerate(values)
        if math.isfinite(mm)
    ]


def _said(held_mm: Sequence[float], free_mm: Sequence[float], units: Units) -> str:
    """First and last of each, in words."""
    found: list[str] = []
    for name, values in (("Held", held_mm), ("free", free_mm)):
        known = [mm for mm in values if math.isfinite(mm)]
        if known:
            first, last = water(known[0], units), water(known[-1], units)
            found.append(f"{name} roots from {first} to {last}")
    return f"Water in reach over {len(held_mm)} days. {', '.join(found)}."
