"""The two strips at the foot of a season: its rungs and its stages."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_service.notes.speech import say
from rootbound_service.web.draw.frame import LEFT, RIGHT, STAGES, STRIP
from rootbound_service.web.draw.marks import tag, titled, words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rootbound_service.records import Units
    from rootbound_service.web.draw.frame import Frame
    from rootbound_service.web.draw.shapes import Picture

NUMBER_WIDE, LETTER_WIDE = 8.5, 8.2
"""Room that a rung's number and a letter of a stage take. [px]"""


def rung_strip(picture: Picture, frame: Frame, units: Units) -> Iterator[str]:
    """Draw the rungs, each with its number where it fits.

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
    yield words("rung", LEFT - 6, frame.strip_top + 15, "tick", "end")
    end = picture.series.dates[-1] + timedelta(days=1)
    for (night, rung), after in zip(picture.rungs, _ends(picture, end), strict=True):
        x, wide = frame.x(night), frame.x(after) - frame.x(night)
        if wide <= 0:
            continue
        kind = "none" if rung is None else f"r{rung}"
        box = {"x": x, "y": frame.strip_top, "width": wide, "height": STRIP}
        about = "no rung" if rung is None else say.rung_label(rung)
        about = f"{about} from {say.day(night, units)}"
        yield tag("rect", titled(about), class_=f"step {kind}", **box)
        if rung is not None and wide >= NUMBER_WIDE:
            yield words(str(rung), x + wide / 2, frame.strip_top + 16, f"on-{kind}", "middle")


def _ends(picture: Picture, end: date) -> list[date]:
    nights = [night for night, _ in picture.rungs]
    return [*nights[1:], max(end, nights[-1] + timedelta(days=1))] if nights else []


def stage_strip(picture: Picture, frame: Frame, units: Units) -> Iterator[str]:
    """Draw bands of the stages, named where there is room.

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
    inside = [one for one in picture.stages if frame.first <= one[1] <= frame.last]
    ends = [*(frame.x(day) for _, day in inside[1:]), frame.width - RIGHT]
    for place, ((stage, day), end) in enumerate(zip(inside, ends, strict=False)):
        x = frame.x(day)
        box = {"x": x, "y": frame.stage_top, "width": max(end - x, 0.0), "height": STAGES}
        about = f"{stage} from {say.day(day, units)}"
        yield tag("rect", titled(about), **box, class_=f"stage s{place % 2}")
        if len(stage) * LETTER_WIDE + 2 <= end - x:
            yield words(stage, x + 3, frame.stage_top + 16, "tick")
