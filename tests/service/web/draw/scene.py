"""A season to draw, places to map, and how to read what was drawn."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from lxml import etree

from rootbound_service.web.draw.map import Spot
from rootbound_service.web.draw.shapes import Dug, Picture, Seen, Told
from service.notes.cast import PLANTED, season

if TYPE_CHECKING:
    from collections.abc import Sequence

SVG = "{http://www.w3.org/2000/svg}"
NASTY = "<script>alert('x')</script> & \"Long\" ]]>"


def day(number: int) -> date:
    """A day by its number since planting."""
    return PLANTED + timedelta(days=number)


def picture(**changes: Any) -> Picture:
    """A dug field in July with all that can happen."""
    one = Picture(
        name="Long Acre",
        series=season(14.0, 48.0),
        stages=(("VE", day(9)), ("V6", day(33)), ("R1", day(71)), ("R2", day(83))),
        rungs=((day(34), 0), (day(44), 1), (day(60), 3)),
        notes=(Told(day(60), 3, 7),),
        digs=(Dug(day(24), 2),),
        seen=(Seen(day(40), "rain", "rain 0.8 in"), Seen(day(55), "rolled", "leaves rolled")),
        past=((2024, season(25.0, 55.0, 2)),),
    )
    return replace(one, **changes)


def spot(number: int, lon: float, lat: float, **changes: Any) -> Spot:
    """A field at short."""
    return replace(Spot(number, f"Field {number}, 3 short", "r3", "3", (lon, lat)), **changes)


def read(svg: str) -> etree._Element:
    """The picture as XML; what is not well formed raises."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True)
    return etree.fromstring(svg.encode(), parser)


def box(root: etree._Element) -> tuple[float, float]:
    """Width and height of a picture."""
    _, _, wide, tall = (float(one) for one in str(root.get("viewBox")).split())
    return wide, tall


def points(root: etree._Element) -> list[tuple[float, float]]:
    """Every corner, centre and baseline of a picture."""
    found: list[tuple[float, float]] = []
    for one in root.iter():
        if one.get("points"):
            pairs = [pair.split(",") for pair in str(one.get("points")).split()]
            found += [(float(x), float(y)) for x, y in pairs]
        for x, y in (("x", "y"), ("cx", "cy"), ("x1", "y1"), ("x2", "y2")):
            if one.get(x) is not None:
                found.append((float(str(one.get(x))), float(str(one.get(y)))))
        if one.get("x") is not None and one.get("width") is not None:
            wide, tall = float(str(one.get("width"))), float(str(one.get("height")))
            found.append((float(str(one.get("x"))) + wide, float(str(one.get("y"))) + tall))
        found += [
            (float(x), float(y)) for x, y in re.findall(r"M([\d.-]+) ([\d.-]+)", one.get("d", ""))
        ]
    return found


def outside(root: etree._Element) -> Sequence[tuple[float, float]]:
    """Points beyond the picture's edge."""
    wide, tall = box(root)
    return [
        (x, y) for x, y in points(root) if not (-0.6 <= x <= wide + 0.6 and -0.6 <= y <= tall + 0.6)
    ]
