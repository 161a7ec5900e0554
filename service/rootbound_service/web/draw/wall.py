"""Drawings of our own: the wall of the seed furrow by class, and a pan, cut through."""

from __future__ import annotations

from functools import cache

from rootbound_service.web.draw.marks import tag

SIZE = "0 0 120 90"
FURROW = {
    0: "M46 14 L52 44 L60 62 L69 43 L75 14",
    1: "M44 14 L52 46 L60 64 L68 46 L76 14",
    2: "M42 14 L52 50 L60 66 L68 50 L78 14",
    3: "M40 14 L53 54 L60 68 L67 54 L80 14",
}
ROOTS = {
    0: ("M60 40 C48 44 34 46 14 62", "M60 42 C72 46 86 48 106 60", "M60 46 C56 58 44 70 36 84",
        "M60 46 C64 58 78 72 84 84", "M60 46 C60 60 61 72 60 86"),
    1: ("M60 40 C50 44 38 48 24 64", "M60 42 C70 46 80 50 96 66", "M60 46 C58 58 52 70 50 84",
        "M60 46 C62 58 68 70 72 82", "M60 46 C60 60 60 70 60 84"),
    2: ("M60 38 C54 42 52 46 54 54 C56 60 58 64 56 76",
        "M60 38 C66 42 68 46 66 54 C64 60 62 64 64 76",
        "M60 44 C60 54 60 66 60 84", "M60 40 C72 44 84 50 98 66"),
    3: ("M60 36 C54 40 52 46 55 54 C57 60 59 63 59 67",
        "M60 36 C66 40 68 46 65 54 C63 60 61 63 61 67",
        "M58 40 C56 48 57 56 59 64", "M62 40 C64 48 63 56 61 64"),
}  # fmt: skip
GRAINS = {
    0: ((40, 26), (36, 40), (44, 54), (82, 24), (84, 40), (77, 54), (52, 72), (70, 74), (30, 56),
        (92, 58), (26, 30), (96, 30)),
    1: ((34, 30), (40, 52), (84, 30), (80, 54), (46, 74), (76, 76)),
    2: ((26, 34), (92, 36), (34, 66), (88, 68)),
    3: (),
}  # fmt: skip
PAN_TOP = 52
PAN_BARS = {0: (), 1: (58,), 2: (56, 66), 3: (54, 62, 70)}


@cache
def wall_svg(wall_class: int) -> str:
    """Draw a furrow cut across the row: its wall, and whether roots cross it.

    Parameters
    ----------
    wall_class
        0 crumbles: broken line, grains, roots spread. 1 firm: one line, most roots cross.
        2 smeared: a thick wall, most roots run along it. 3 hard and shiny: a double wall with
        glints, no root crosses. [0-3]
    """
    parts = [tag("path", d="M4 14H116", class_="line"), *_grains(wall_class)]
    dashes = {"stroke_dasharray": "3 6"} if wall_class == 0 else {}
    kind = "line thick" if wall_class >= 2 else "line"  # noqa: PLR2004  smeared and worse
    parts.append(tag("path", d=FURROW[wall_class], class_=kind, **dashes))
    if wall_class == 3:  # noqa: PLR2004  shiny
        parts.append(tag("path", d="M33 14 L48 56 L60 76 L72 56 L87 14", class_="line fine"))
        parts += [tag("path", d=d, class_="line fine") for d in ("M46 24l-6 3", "M74 24l6 3")]
    parts += [tag("path", d=d, class_="line fine root") for d in ROOTS[wall_class]]
    parts.append(tag("path", d="M60 36V4M60 12C54 8 50 6 46 4M60 9C66 6 70 4 74 2", class_="line"))
    return _whole(parts)


@cache
def pan_svg(pan_class: int) -> str:
    """Draw a soil with a pan: the more bars, the harder; roots stop and turn on it.

    Parameters
    ----------
    pan_class
        0 none, 1 firm, 2 hard, 3 very hard. [0-3]
    """
    parts = [tag("path", d="M4 14H116", class_="line")]
    parts.append(tag("path", d="M60 30V4M60 12C54 8 50 6 46 4M60 9C66 6 70 4 74 2", class_="line"))
    parts += [tag("path", d=f"M6 {y}H114", class_="line thick") for y in PAN_BARS[pan_class]]
    foot = 86 if pan_class == 0 else PAN_TOP
    for x in (24, 42, 60, 78, 96):
        turn = "" if pan_class == 0 else f" h{14 if x >= 60 else -14}"  # noqa: PLR2004  the middle
        parts.append(tag("path", d=f"M60 26 C60 40 {x} 36 {x} {foot}{turn}", class_="line fine"))
    return _whole(parts)


def _grains(wall_class: int) -> list[str]:
    return [tag("circle", cx=x, cy=y, r=2.4, class_="grain") for x, y in GRAINS[wall_class]]


def _whole(parts: list[str]) -> str:
    return tag("svg", "".join(parts), viewBox=SIZE, class_="drawing", aria_hidden="true")
