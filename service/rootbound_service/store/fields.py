"""Fields, their seasons and their digs: enrolled, listed and found."""

from __future__ import annotations

import re
from dataclasses import asdict
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, or_, select, update

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import DigRecord, FieldRecord, Person
from rootbound_service.store.accounts import account_for, join_as_grower
from rootbound_service.store.field_rows import SEASON, WORDS, dig_from, load_fields
from rootbound_service.store.people import add_person
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import dig, field, season
from rootbound_service.store.soil import put_enrolled
from rootbound_service.store.standings import stand_anew, touch

ID = re.compile(r"[0-9]{1,9}")


def add_field(conn: Connection, record: FieldRecord, now: datetime | None = None) -> FieldRecord:
    """Enrol a field for a season, all of it or nothing.

    A field that its grower has under this name already in the account gets a further season
    if it is planted in another year; its place, adviser and soil become those of ``record``,
    an empty soil leaves what is known.

    Parameters
    ----------
    conn
        The caller's transaction.
    record
        The field, with digs if there are any; ids are not read.
    now
        When its soil was entered, if that is to be kept.

    Returns
    -------
    FieldRecord
        The field as stored, with this season and the ids given.

    Raises
    ------
    RefusedInput
        If the grower's field of this name has a season planted in the same year.
    """
    with conn.begin_nested():
        grower = add_person(conn, record.grower, now)
        adviser = record.adviser and add_person(conn, record.adviser, now)
        keys = {
            "account_id": _account(conn, record, grower, adviser, now),
            "grower_id": grower.id,
            "adviser_id": adviser.id if adviser else None,
        }
        field_id = _put_field(conn, record, keys)
        season_id = _new_season(conn, field_id, record)
        put_enrolled(conn, field_id, record, now)
        stand_anew(conn, field_id)
        for card in record.digs:
            add_dig(conn, season_id, card)
    return load_fields(conn, field.c.id == field_id, on=record.planted)[0]


def add_dig(conn: Connection, season_id: int, card: DigRecord) -> DigRecord:
    """Store a dig card; a card whose form_id the season has already is not stored again.

    Parameters
    ----------
    conn
        The caller's transaction.
    season_id
        The season dug in.
    card
        The card; ``id`` is not read.

    Returns
    -------
    DigRecord
        The card as stored, the first one if it was sent twice.

    Raises
    ------
    RefusedInput
        If there is no such season.
    """
    if conn.scalar(select(season.c.id).where(season.c.id == season_id)) is None:
        what, wanted = f"there is no season {season_id}", "enrol the field first"
        raise RefusedInput((Problem("dig", what, wanted),))
    values = asdict(card) | {"season_id": season_id}
    values |= {name: values[name] or None for name in WORDS}
    del values["id"]
    new = insert_into(conn, dig).values(values)
    new = new.on_conflict_do_nothing(index_elements=["season_id", "form_id"])
    dig_id = conn.scalar(new.returning(dig.c.id))
    touch(conn, season_id=season_id)
    sent_before = (dig.c.season_id == season_id) & (dig.c.form_id == card.form_id)
    wanted_row = sent_before if dig_id is None else dig.c.id == dig_id
    return dig_from(conn.execute(select(dig).where(wanted_row)).mappings().one())


def list_fields(conn: Connection, on: date | None = None) -> list[FieldRecord]:
    """List all fields, each with one season and all digs of it, ordered by id.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    on
        The day whose season is wanted: the latest planted by then, else the next one to
        be planted. None: the latest of all.

    Returns
    -------
    list of FieldRecord
        Every field.
    """
    return load_fields(conn, on=on)


def find_field(conn: Connection, name_or_id: str) -> FieldRecord:
    """Find one field, with its latest season.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    name_or_id
        Its name in any case, its id, or ``#`` and its id.

    Returns
    -------
    FieldRecord
        The field.

    Raises
    ------
    RefusedInput
        If none is called so, with the names near it; or if several are, with their ids.
    """
    asked, key = name_or_id.strip(), _name_key(name_or_id)
    number = asked.removeprefix("#")
    by_id = [field.c.id == int(number)] if ID.fullmatch(number) else []
    found = load_fields(conn, or_(field.c.name_key == key, *by_id))
    if len(found) == 1:
        return found[0]
    raise RefusedInput((_ambiguous(asked, found) if found else _missing(conn, asked, key),))


def set_elevation(conn: Connection, field_id: int, elevation_m: float) -> None:
    """Keep the elevation that the weather source gave for a field enrolled without one.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id
        The field.
    elevation_m
        Above sea level. [m]

    Raises
    ------
    RefusedInput
        If there is no such field.
    """
    change = update(field).where(field.c.id == field_id).values(elevation_m=elevation_m)
    if conn.execute(change).rowcount == 0:
        what, wanted = f"there is no field {field_id}", "give the id of an enrolled field"
        raise RefusedInput((Problem("field", what, wanted),))
    touch(conn, field_id=field_id)


def _name_key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _account(
    conn: Connection,
    record: FieldRecord,
    grower: Person,
    adviser: Person | None,
    now: datetime | None,
) -> int:
    """The account it is enrolled in; its grower sees it there."""
    others = [grower] if adviser and adviser.id != grower.id else []
    if not record.account_id:
        return account_for(conn, adviser or grower, others, _name_key(record.name), now)
    join_as_grower(conn, record.account_id, [grower.id])
    return record.account_id


def _put_field(conn: Connection, record: FieldRecord, people: dict[str, int | None]) -> int:
    """Insert the field, or bring the grower's one of this name up to date."""
    values: dict[str, Any] = people | {
        "name": " ".join(record.name.split()),
        "name_key": _name_key(record.name),
        "lat": record.lat,
        "lon": record.lon,
        "elevation_m": record.elevation_m,
        "time_zone": record.time_zone,
        "irrigated": record.irrigated,
    }
    put = insert_into(conn, field).values(values)
    put = put.on_conflict_do_update(
        index_elements=["account_id", "grower_id", "name_key"], set_=values
    )
    field_id: int = conn.scalars(put.returning(field.c.id)).one()
    return field_id


def _new_season(conn: Connection, field_id: int, record: FieldRecord) -> int:
    values: dict[str, Any] = {name: getattr(record, name) for name in SEASON}
    values |= {"field_id": field_id, "year": record.planted.year}
    new = insert_into(conn, season).values(values)
    new = new.on_conflict_do_nothing(index_elements=["field_id", "year"])
    season_id: int | None = conn.scalar(new.returning(season.c.id))
    if season_id is None:
        taken = (season.c.field_id == field_id) & (season.c.year == record.planted.year)
        planted = conn.scalars(select(season.c.planted).where(taken)).one()
        what = f"{record.grower.name} has a field of this name, planted {planted}"
        wanted = "give another name, or a planting date in another year"
        raise RefusedInput((Problem(f"field {record.name}", what, wanted),))
    return season_id


def _ambiguous(asked: str, found: list[FieldRecord]) -> Problem:
    ids = ", ".join(f"#{one.id} ({one.name}, {one.grower.name})" for one in found)
    return Problem("field", f"{asked} fits {len(found)} fields", f"give one of {ids}")


def _missing(conn: Connection, asked: str, key: str) -> Problem:
    names = {row.name_key: row.name for row in conn.execute(select(field))}
    near = [names[one] for one in get_close_matches(key, names, n=5)]
    wanted = f"did you mean {' or '.join(near)}?" if near else "give a name or id from the list"
    if not names:
        wanted = "enrol a field first"
    return Problem("field", f"no field is called {asked}", wanted)
