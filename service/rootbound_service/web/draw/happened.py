"""Marks of what happened in a season: notes, digs, what people saw, and the last known day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.notes.speech import say
from rootbound_service.web.draw.frame import HAPPENED, TOP
from rootbound_service.web.draw.marks import tag, titled, words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rootbound_service.records import Units
    from rootbound_service.web.draw.frame import Frame
    from rootbound_service.web.draw.shapes import Picture

SIGNS = {"rain": "g", "irrigation": "i", "rolled": "l", "harvest": "h"}
"""Letters of what people saw: gauge, irrigation, leaves, harvest."""
ORDER = "dhlgio"
"""Which letter stands for several."""
SIGN = 9.0
"""Radius of a sign. [px]"""


@dataclass(frozen=True, slots=True)
class _Mark:
    x: float
    letter: str
    about: str


def happened(picture: Picture, frame: Frame, units: Units) -> Iterator[str]:
    """Draw the marks.

    Parameters
    ----------
    picture
        The season.
    frame
        Its scales.
    units
        The reader's.

    Yields
    ------
    str
        SVG.
    """
    today = frame.x(picture.series.dates[-1]) + frame.day_wide
    yield tag("line", x1=today, x2=today, y1=TOP, y2=frame.strip_top, class_="today")
    for mark in together(_marks(picture, frame, units)):
        yield _sign(mark, frame)
    for note in picture.notes:
        rung = "" if note.rung is None else f": {say.rung_label(note.rung)}"
        about = f"Note of {say.day(note.night, units)}{rung}"
        x, y = frame.middle(note.night), frame.strip_top
        flag = tag("path", d=f"M{x:.1f} {y:.1f}v-18h12l-3.5 4.5 3.5 4.5h-10v9z", class_="flag")
        yield tag("g", titled(about) + flag)


def _marks(picture: Picture, frame: Frame, units: Units) -> list[_Mark]:
    found = [
        _Mark(
            frame.middle(dug.day),
            "d",
            f"{say.day(dug.day, units)}: dug, wall {dug.wall} {say.WALL_WORDS[dug.wall]}",
        )
        for dug in picture.digs
    ]
    for seen in picture.seen:
        about = f"{say.day(seen.day, units)}: {seen.words}"
        found.append(_Mark(frame.middle(seen.day), SIGNS.get(seen.kind, "o"), about))
    return sorted(found, key=lambda one: one.x)


def together(marks: Sequence[_Mark]) -> Iterator[_Mark]:
    """Join marks that would lie on each other; a plus says that there are more.

    Parameters
    ----------
    marks
        From left to right.

    Yields
    ------
    _Mark
        Each at least a sign's width after the one before.
    """
    group: list[_Mark] = []
    for one in marks:
        if group and one.x - group[0].x >= 2 * SIGN + 1:
            yield _joined(group)
            group = []
        group.append(one)
    if group:
        yield _joined(group)


def _joined(group: Sequence[_Mark]) -> _Mark:
    letter = min((one.letter for one in group), key=ORDER.index)
    more = "+" if len(group) > 1 else ""
    return _Mark(group[0].x, letter + more, "; ".join(one.about for one in group))


def _sign(mark: _Mark, frame: Frame) -> str:
    """A letter in a circle, on a stalk from its day."""
    y = frame.water_foot + HAPPENED / 2 - SIGN
    stalk = tag("line", x1=mark.x, x2=mark.x, y1=frame.water_foot, y2=y - SIGN, class_="today")
    circle = tag("circle", cx=mark.x, cy=y, r=SIGN, class_="sign")
    letter = words(mark.letter, mark.x, y + 4, "s", "middle")
    return tag("g", titled(mark.about) + stalk + circle + letter)
