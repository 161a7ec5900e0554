"""The rows of the list of fields: what the last night found, in words, kept while it holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from rootbound_service.nights.pictures import unpacked_picture
from rootbound_service.nights.standing import facts_of
from rootbound_service.notes.speech import say
from rootbound_service.notes.units import water
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.risk import risk_of_seasons
from rootbound_service.store.schema import field, field_shape
from rootbound_service.store.season_pictures import pictures_of
from rootbound_service.web.draw.spark import spark_svg

if TYPE_CHECKING:
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import FieldRecord, Units
    from rootbound_service.web.access.reader import Reader


SPARK_DAYS = 30
"""Days of the small picture: a month shows where it is heading. [d]"""


@dataclass(frozen=True, slots=True)
class Line:
    """One field in the list."""

    id: int
    name: str
    grower: str
    chip: str
    chip_class: str
    ahead: str
    water: str
    free: str
    hold: str
    stage: str
    dig: str
    weather: str
    lat: float
    lon: float
    rung: int | None
    shape: object = None
    """A GeoJSON polygon, where one is kept."""
    spark: str = ""
    """The last weeks of water in reach, as SVG."""


def lines_of(
    conn: Connection, who: Reader, ids: Sequence[int], today: date, stale_days: int
) -> list[Line]:
    """Give the rows of some fields, in the order asked for.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    who
        The reader: another account's fields give no row.
    ids
        The fields.
    today
        The day it is.
    stale_days
        Weather older than this makes a field unknown. [d]
    """
    if not ids:
        return []
    fields = {one.id: one for one in load_fields(conn, *who.own(), field.c.id.in_(ids))}
    rows = risk_of_seasons(conn, [one.season_id for one in fields.values()])
    shapes = select(field_shape).where(field_shape.c.field_id.in_(ids))
    kept = {row.field_id: row.shape for row in conn.execute(shapes)}
    packed = pictures_of(conn, [one.season_id for one in fields.values()])
    found: list[Line] = []
    for one in (fields[number] for number in ids if number in fields):
        risk = rows.get(one.season_id)
        facts = facts_of(one, risk, today=today, stale_days=stale_days)
        line = _line(one, facts, who.person.units, kept.get(one.id))
        spark = _spark(packed.get(one.season_id), line, who.person.units)
        found.append(replace(line, spark=spark))
    return found


def _line(one: FieldRecord, facts: FieldFacts | None, units: Units, shape: object) -> Line:
    watched = facts is not None and facts.status == "watched" and facts.rung is not None
    return Line(
        id=one.id,
        name=one.name,
        grower=one.grower.name,
        chip=say.status_label(facts) if facts else "waiting",
        chip_class=f"r{facts.rung}" if facts and watched else "none",
        ahead=say.short_ahead(facts.days_ahead) if facts and watched else _instead(facts),
        water=_water(facts.water_in_reach_mm if facts and watched else None, units),
        free=_water(facts.free_water_mm if facts else None, units),
        hold=_hold(facts, units) if watched else "",
        stage=say.short_stage(facts) if facts and facts.stage else "",
        dig=_dig(one, units),
        weather=_weather(facts),
        lat=one.lat,
        lon=one.lon,
        rung=facts.rung if facts and watched else None,
        shape=shape,
    )


def _spark(packed: bytes | None, line: Line, units: Units) -> str:
    """The last weeks of a field whose roots somebody dug."""
    if packed is None or line.rung is None:
        return ""
    series = unpacked_picture(packed).series
    held, free = (
        one[-SPARK_DAYS:].tolist() for one in (series.held_water_mm, series.free_water_mm)
    )
    return spark_svg(held, free, units)


def _instead(facts: FieldFacts | None) -> str:
    """What stands in place of days ahead where no dig has rated the roots."""
    if facts is not None and facts.status == "unrated" and facts.rung is not None:
        return f"Free roots: {say.rung_label(facts.rung)}"
    return ""


def _water(mm: float | None, units: Units) -> str:
    return "" if mm is None else water(mm, units)


def _hold(facts: FieldFacts | None, units: Units) -> str:
    """The rain that would hold the field, as short as a cell."""
    hold = facts.rain_to_hold if facts else None
    if hold is None:
        return ""
    if (figure := say.hold_figure(hold, units)) is not None:
        return f"{figure[0]} by {say.short_day(hold.days[0].day, units)}"
    return {
        "none_needed": "none needed",
        "at_top": "at the top rung",
        "none_would": "no rain would",
        "already_climbing": "climbs already",
    }.get(hold.kind, "")


def _dig(one: FieldRecord, units: Units) -> str:
    if not one.digs:
        return "not dug"
    last = one.digs[-1]
    wall = f"wall {last.wall_class} {say.WALL_WORDS[last.wall_class]}"
    return f"{wall}, {say.short_day(last.dug_on, units)}"


def _weather(facts: FieldFacts | None) -> str:
    age = say.weather_age(facts) if facts else None
    return say.no_weather_word() if age is None else say.age_words(age)
