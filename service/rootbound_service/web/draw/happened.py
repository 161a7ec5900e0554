"""Marks of what happened in a season: notes, digs, what people saw, and tonight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.notes.speech import say
from rootbound_service.web.draw.frame import TOP
from rootbound_service.web.draw.marks import tag, titled, words

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from rootbound_service.web.draw.frame import Frame
    from rootbound_service.web.draw.shapes import Picture

SIGNS = {"rain": "g", "irrigation": "i", "rolled": "l", "harvest": "h"}
"""Letters of what people saw: gauge, irrigation, leaves, harvest."""


def happened(picture: Picture, frame: Frame) -> Iterator[str]:
    """Draw the marks.

    Parameters
    ----------
    picture
        The season.
    frame
        Its scales.

    Yields
    ------
    str
        SVG.
    """
    today = frame.x(picture.series.dates[-1]) + frame.day_wide
    yield tag("line", x1=today, x2=today, y1=TOP, y2=frame.water_foot, class_="today")
    for dug in picture.digs:
        about = f"Dug {dug.day}: wall {dug.wall} {say.WALL_WORDS[dug.wall]}"
        yield _sign("d", dug.day, frame.water_foot - 10, about, frame)
    for seen in picture.seen:
        sign = SIGNS.get(seen.kind, "o")
        yield _sign(sign, seen.day, frame.water_foot - 30, f"{seen.day}: {seen.words}", frame)
    for note in picture.notes:
        rung = "" if note.rung is None else f": {say.rung_label(note.rung)}"
        yield _note(note.night, f"Note of {note.night}{rung}", frame)


def _sign(letter: str, day: date, y: float, about: str, frame: Frame) -> str:
    """A letter in a circle."""
    x = frame.middle(day)
    inner = tag("circle", cx=x, cy=y, r=8, class_="sign") + words(letter, x, y + 4, "s", "middle")
    return tag("g", titled(about) + inner)


def _note(day: date, about: str, frame: Frame) -> str:
    """A flag on the strip of rungs."""
    x, y = frame.middle(day), frame.strip_top
    flag = tag("path", d=f"M{x:.1f} {y:.1f}v-13h10l-3 4 3 4h-10", class_="flag")
    return tag("g", titled(about) + flag)
