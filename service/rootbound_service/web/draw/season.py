"""The season in one picture: rain, water in reach of both twins, rungs, stages, what happened."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from rootbound_service.notes.speech import say
from rootbound_service.notes.units import to_units, unit_name, water
from rootbound_service.web.draw.frame import LEFT, RAIN, RIGHT, STAGES, TOP, Frame, steps
from rootbound_service.web.draw.happened import happened
from rootbound_service.web.draw.marks import path, tag, titled, words
from rootbound_service.web.draw.strips import rung_strip, stage_strip

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from rootbound_service.notes.facts import SeasonSeries
    from rootbound_service.records import Units
    from rootbound_service.web.draw.shapes import Picture

WIDE, NARROW = 960.0, 320.0
PLOT = {WIDE: 230.0, NARROW: 200.0}
MONTH_WIDE = 30.0
"""Room for the name of a month. [px]"""
NAME_TALL = 15.0
"""Height of the name of a line. [px]"""


def season_svg(picture: Picture, units: Units, width: float = WIDE) -> str:
    """Draw a season.

    Parameters
    ----------
    picture
        The season.
    units
        The reader's.
    width
        WIDE or NARROW: on a phone the same letters need another picture.

    Returns
    -------
    str
        SVG.
    """
    frame = _frame(picture, units, width)
    name = f"season-{int(width)}"
    parts = [
        tag("title", escape(f"The season of {picture.name}"), id=f"{name}-t"),
        tag("desc", escape(said(picture, units)), id=f"{name}-d"),
        *_scales(frame, units),
        *_past(picture, frame, units),
        *_rain(picture.series, frame, units),
        *_water(picture, frame, units),
        *rung_strip(picture, frame, units),
        *stage_strip(picture, frame, units),
        *happened(picture, frame, units),
    ]
    return tag(
        "svg",
        "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {int(width)} {int(frame.height)}",
        class_=f"season {'wide' if width == WIDE else 'narrow'}",
        role="img",
        aria_labelledby=f"{name}-t {name}-d",
        data_left=frame.x(frame.first),
        data_day=round(frame.day_wide, 3),
        data_now=len(picture.series.dates) - 1,
    )


def said(picture: Picture, units: Units) -> str:
    """Say what a picture shows, for whoever does not see it.

    Parameters
    ----------
    picture
        The season.
    units
        The reader's.
    """
    series = picture.series
    last = say.day(series.dates[-1], units)
    free = f"free roots {water(float(series.free_water_mm[-1]), units)}"
    held = f"held roots have {water(float(series.held_water_mm[-1]), units)} in reach, "
    now = f"On {last} {held if picture.rated else ''}{free}."
    rain = float(np.nansum(series.rain_mm[-30:]))
    ahead = ""
    if series.ahead and series.held_low_mm is not None and series.held_high_mm is not None:
        low, high = float(series.held_low_mm[-1]), float(series.held_high_mm[-1])
        on = say.day(series.ahead[-1], units)
        span = f"{water(low, units)} to {water(high, units)}"
        ahead = f" In 8 of 10 outlook years {span} is left on {on}."
    return f"{now} Rain of the last 30 days: {water(rain, units)}.{ahead}"


def _frame(picture: Picture, units: Units, width: float) -> Frame:
    series = picture.series
    every = [series.free_water_mm, series.held_water_mm]
    every += [one for one in (series.held_high_mm, series.free_mid_mm) if one is not None]
    high = max((float(np.nanmax(one)) for one in every if len(one)), default=1.0)
    _, top = steps(to_units(max(high, 10.0), units))
    rain = float(np.nanmax(series.rain_mm)) if len(series.rain_mm) else 0.0
    last = series.ahead[-1] if series.ahead else series.dates[-1]
    _, most = steps(to_units(max(rain, 10.0), units))
    return Frame(width, PLOT.get(width, 220.0), series.dates[0], last, 0.0, top, most)


def _scales(frame: Frame, units: Units) -> Iterator[str]:
    """Hairlines with their numbers, months, the unit."""
    step, _ = steps(frame.high)
    unit = unit_name(units)
    amount = 0.0
    while amount <= frame.high + 1e-9:
        y = frame.y(amount)
        yield tag("line", x1=LEFT, x2=frame.width - RIGHT, y1=y, y2=y, class_="hair")
        yield words(f"{amount:g}", LEFT - 6, y + 4, "tick", "end")
        amount += step
    yield words(f"water in reach [{unit}]", LEFT, frame.water_top - 6, "axis")
    yield words(f"rain [{unit}]", LEFT, TOP - 4, "axis")
    yield words(f"{frame.rain_high:g}", LEFT - 6, TOP + RAIN, "tick", "end")
    yield words("0", LEFT - 6, TOP + 8, "tick", "end")
    foot = frame.stage_top + STAGES
    months = frame.months()
    if not months or frame.x(months[0]) - LEFT > MONTH_WIDE:
        yield words(say.month(frame.first.month), LEFT, foot + 15, "tick")
    for first in months:
        x = frame.x(first)
        yield tag("line", x1=x, x2=x, y1=TOP, y2=foot, class_="hair")
        if x + MONTH_WIDE <= frame.width:
            yield words(say.month(first.month), x + 3, foot + 15, "tick")


def _rain(series: SeasonSeries, frame: Frame, units: Units) -> Iterator[str]:
    wide = max(frame.day_wide - 0.6, 0.8)
    bars: list[str] = []
    for day, mm in zip(series.dates, series.rain_mm, strict=True):
        if np.isfinite(mm) and mm > 0.0:
            tall = frame.rain(to_units(float(mm), units))
            bars.append(f"M{frame.x(day):.1f} {TOP:g}h{wide:.1f}v{tall:.1f}h-{wide:.1f}z")
    if bars:
        yield tag("path", d="".join(bars), class_="rain")


def _water(picture: Picture, frame: Frame, units: Units) -> Iterator[str]:
    """Both twins, then the outlook with its band; each is named at its end."""
    series = picture.series
    if series.ahead and series.held_low_mm is not None and series.held_high_mm is not None:
        x = frame.x(series.ahead[0])
        yield tag(
            "rect",
            x=x,
            y=TOP,
            width=frame.width - RIGHT - x,
            height=frame.water_foot - TOP,
            class_="coming",
        )
        yield words("outlook", x + 4, TOP + 12, "axis")
        band = [*zip(series.ahead, series.held_high_mm, strict=True)]
        band += reversed([*zip(series.ahead, series.held_low_mm, strict=True)])
        yield path(_points(band, frame, units), "band", close=True)
    free = [*zip(series.dates, series.free_water_mm, strict=True)]
    held = [*zip(series.dates, series.held_water_mm, strict=True)]
    if series.free_mid_mm is not None:
        free += [*zip(series.ahead, series.free_mid_mm, strict=True)]
    if series.held_mid_mm is not None:
        held += [*zip(series.ahead, series.held_mid_mm, strict=True)]
    yield path(_points(free, frame, units), "free")
    if picture.rated:
        yield path(_points(held, frame, units), "held")
    yield from _names(picture, frame, units)


def _names(picture: Picture, frame: Frame, units: Units) -> Iterator[str]:
    """Name the lines beside their ends, kept a line of text apart."""
    series = picture.series
    free = series.free_water_mm if series.free_mid_mm is None else series.free_mid_mm
    held = series.held_water_mm if series.held_mid_mm is None else series.held_mid_mm
    ends = [("free", _end(free, frame, units))]
    if picture.rated:
        ends.append(("held", _end(held, frame, units)))
    ends.sort(key=lambda one: one[1])
    foot = frame.water_foot + 4 - NAME_TALL * (len(ends) - 1)
    y = -1.0
    for place, (name, end) in enumerate(ends):
        y = max(min(end + 4, foot + place * NAME_TALL), y + NAME_TALL)
        yield words(name, frame.width - RIGHT + 5, y, f"name-{name}")


def _end(values: NDArray[np.float64], frame: Frame, units: Units) -> float:
    """Height of the last known value."""
    known = values[np.isfinite(values)]
    return frame.y(to_units(float(known[-1]), units) if len(known) else 0.0)


def _points(
    days: list[tuple[date, np.float64]], frame: Frame, units: Units
) -> list[tuple[float, float]]:
    return [
        (frame.middle(day), frame.y(to_units(float(mm), units)))
        for day, mm in days
        if np.isfinite(mm)
    ]


def _past(picture: Picture, frame: Frame, units: Units) -> Iterator[str]:
    """Earlier seasons by the days since planting, thin and behind the rest."""
    start = picture.series.dates[0]
    for year, series in picture.past:
        moved = [
            (start + timedelta(days=i), mm)
            for i, mm in enumerate(series.held_water_mm)
            if start + timedelta(days=i) <= frame.last
        ]
        yield tag("g", titled(str(year)) + path(_points(moved, frame, units), "before"))
