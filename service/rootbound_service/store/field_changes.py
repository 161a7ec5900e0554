"""Corrections of what was enrolled: a field's name and place, and its season's crop."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select, update

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import FieldRecord, SoilRecord
from rootbound_service.store.field_rows import SEASON
from rootbound_service.store.schema import field, season
from rootbound_service.store.soil import put_enrolled
from rootbound_service.store.standings import stand_anew

PLACE_DIGITS, OTHER_DIGITS = 6, 2
"""Of a degree, and of centimetres and heat units: what is nearer is the same."""


def change_field(
    conn: Connection, kept: FieldRecord, wanted: FieldRecord, now: datetime
) -> tuple[str, ...]:
    """Correct a field and its season; people, digs and what was seen stay.

    What soil services said of another place counts no more. Every night computes the season
    from its start, so that a correction tells from the next one on.

    Parameters
    ----------
    conn
        The caller's transaction.
    kept
        As stored, with the season to be corrected.
    wanted
        As it is right; ids, people and soil are not read.
    now
        When.

    Returns
    -------
    tuple of str
        Names of what changed.

    Raises
    ------
    RefusedInput
        If the grower has another field of that name, the season's year is taken, or something
        was dug or seen before the crop would have been planted.
    """
    moved = _place(kept) != _place(wanted)
    values: dict[str, Any] = {
        "name": " ".join(wanted.name.split()),
        "lat": wanted.lat,
        "lon": wanted.lon,
        "time_zone": wanted.time_zone,
        "irrigated": wanted.irrigated,
    }
    crop: dict[str, Any] = {name: getattr(wanted, name) for name in SEASON}
    values = {name: it for name, it in values.items() if _differs(name, kept, it)}
    crop = {name: it for name, it in crop.items() if _differs(name, kept, it)}
    changed = (*values, *crop)
    if "name" in values:
        _check_name(conn, kept, values["name"])
        values["name_key"] = values["name"].casefold()
    if "planted" in crop:
        _check_planted(conn, kept, wanted)
        crop["year"] = wanted.planted.year
    if moved:
        values["elevation_m"] = None  # the weather source of the new place has it
    if values:
        conn.execute(update(field).where(field.c.id == kept.id).values(values))
    if crop:
        conn.execute(update(season).where(season.c.id == kept.season_id).values(crop))
    if moved:
        put_enrolled(conn, kept.id, replace(wanted, soil=SoilRecord()), now)
    if changed:
        stand_anew(conn, kept.id)
    return changed


def _place(one: FieldRecord) -> tuple[float, float]:
    return round(one.lat, PLACE_DIGITS), round(one.lon, PLACE_DIGITS)


def _differs(name: str, kept: FieldRecord, after: object) -> bool:
    before: object = getattr(kept, name)
    if isinstance(before, float) and isinstance(after, float):
        digits = PLACE_DIGITS if name in {"lat", "lon"} else OTHER_DIGITS
        return round(before, digits) != round(after, digits)
    return before != after


def _check_name(conn: Connection, kept: FieldRecord, name: str) -> None:
    same = (field.c.account_id == kept.account_id) & (field.c.name_key == name.casefold())
    theirs = select(field.c.id).where(same, field.c.grower_id == kept.grower.id)
    if conn.scalar(theirs.where(field.c.id != kept.id)) is not None:
        what = f"{kept.grower.name} has another field of this name"
        raise RefusedInput((Problem("name", what, "give it a name of its own"),))


def _check_planted(conn: Connection, kept: FieldRecord, wanted: FieldRecord) -> None:
    days = [card.dug_on for card in kept.digs] + [one.day for one in kept.observations]
    if days and wanted.planted > min(days):
        what = f"{wanted.planted} is after something was dug or seen on {min(days)}"
        raise RefusedInput((Problem("planted", what, "give the day it was planted"),))
    others = (season.c.field_id == kept.id) & (season.c.id != kept.season_id)
    year = wanted.planted.year
    if conn.scalar(select(season.c.id).where(others, season.c.year == year)) is not None:
        what = f"{year} is another season of this field"
        raise RefusedInput((Problem("planted", what, "give a day of the season shown"),))
