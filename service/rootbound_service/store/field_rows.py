"""From rows to the fields of the service: one query, and one each for digs and observations."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    FromClause,
    Label,
    RowMapping,
    Select,
    func,
    select,
)

from rootbound_service.records import DigRecord, FieldRecord, ObservationRecord, SoilRecord
from rootbound_service.store.observations import OLDEST_FIRST, observation_from, standing
from rootbound_service.store.people import COLUMNS as PERSON
from rootbound_service.store.people import person_from
from rootbound_service.store.schema import dig, field, observation, person, season, soil

SOIL = tuple(column.name for column in soil.c if column.name != "field_id")
WORDS = ("form_id", "by")
"""Columns that are NULL where a card says nothing."""
DIG = tuple(column.name for column in dig.c if column.name not in {"season_id", *WORDS})
FIELD = ("id", "account_id", "name", "lat", "lon", "elevation_m", "time_zone", "irrigated")
SEASON = ("crop", "planted", "row_spacing_cm", "seed_depth_cm", "black_layer_gdd_f")


def load_fields(
    conn: Connection, *where: ColumnElement[bool], on: date | None = None
) -> list[FieldRecord]:
    """Load fields, each with one season, its digs and what was observed, ordered by id.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    where
        Conditions on the field table.
    on
        The day whose season is wanted: the latest planted by then, else the next one to
        be planted. None: the latest of all.

    Returns
    -------
    list of FieldRecord
        The fields that meet all conditions.
    """
    digs = _digs(conn, where, on)
    seen = _observations(conn, where, on)
    rows = conn.execute(_fields_query(on).where(*where).order_by(field.c.id)).mappings()
    return [_field(row, digs[row["season_id"]], seen[row["season_id"]]) for row in rows]


def dig_from(row: RowMapping) -> DigRecord:
    """Make a dig card of a row.

    Parameters
    ----------
    row
        A row of the dig table.

    Returns
    -------
    DigRecord
        The card.
    """
    words: dict[str, Any] = {name: row[name] or "" for name in WORDS}
    return DigRecord(**words, **{name: row[name] for name in DIG})


def _current_season(on: date | None) -> ColumnElement[int]:
    """Give the id of the season wanted, for the field of the query around it."""
    one = season.alias()
    of_field = select(one.c.id).where(one.c.field_id == field.c.id).limit(1).correlate(field)
    latest = of_field.order_by(one.c.planted.desc())
    if on is None:
        return latest.scalar_subquery()
    upcoming = of_field.order_by(one.c.planted)
    return func.coalesce(
        latest.where(one.c.planted <= on).scalar_subquery(),
        upcoming.where(one.c.planted > on).scalar_subquery(),
    )


def _named(table: FromClause, names: tuple[str, ...], prefix: str) -> list[Label[Any]]:
    return [table.c[name].label(prefix + name) for name in names]


def _fields_query(on: date | None) -> Select[Any]:
    grower, adviser = person.alias(), person.alias()
    return (
        select(
            *_named(field, FIELD, ""),
            *_named(season, SEASON, ""),
            season.c.id.label("season_id"),
            *_named(soil, SOIL, "soil_"),
            *_named(grower, PERSON, "grower_"),
            *_named(adviser, PERSON, "adviser_"),
        )
        .select_from(field)
        .join(season, season.c.id == _current_season(on))
        .join(soil, soil.c.field_id == field.c.id)
        .join(grower, grower.c.id == field.c.grower_id)
        .outerjoin(adviser, adviser.c.id == field.c.adviser_id)
    )


def _digs(
    conn: Connection, where: tuple[ColumnElement[bool], ...], on: date | None
) -> dict[int, list[DigRecord]]:
    """Load the digs of every season wanted, oldest first."""
    query = (
        select(dig)
        .join(season, season.c.id == dig.c.season_id)
        .join(field, field.c.id == season.c.field_id)
        .where(season.c.id == _current_season(on), *where)
        .order_by(dig.c.dug_on, dig.c.id)
    )
    digs: dict[int, list[DigRecord]] = defaultdict(list)
    for row in conn.execute(query).mappings():
        digs[row["season_id"]].append(dig_from(row))
    return digs


def _observations(
    conn: Connection, where: tuple[ColumnElement[bool], ...], on: date | None
) -> dict[int, list[ObservationRecord]]:
    """Load what was observed in every season wanted, oldest first, withdrawn ones among it."""
    query = (
        select(observation)
        .join(season, season.c.id == observation.c.season_id)
        .join(field, field.c.id == season.c.field_id)
        .where(season.c.id == _current_season(on), *where)
        .order_by(*OLDEST_FIRST)
    )
    seen: dict[int, list[ObservationRecord]] = defaultdict(list)
    for row in conn.execute(query).mappings():
        seen[row["season_id"]].append(observation_from(row))
    return seen


def _field(row: RowMapping, digs: list[DigRecord], seen: list[ObservationRecord]) -> FieldRecord:
    adviser = None if row["adviser_id"] is None else person_from(row, "adviser_")
    return FieldRecord(
        grower=person_from(row, "grower_"),
        adviser=adviser,
        soil=_soil(row),
        digs=tuple(digs),
        observations=standing(seen),
        season_id=row["season_id"],
        **{name: row[name] for name in FIELD + SEASON},
    )


def _soil(row: RowMapping) -> SoilRecord:
    found: dict[str, Any] = {name: row["soil_" + name] for name in SOIL}
    origins: dict[str, str] = found.pop("origins") or {}
    return SoilRecord(**found, origins=origins)
