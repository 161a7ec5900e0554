"""From rows to the fields of the service: one query, and one each for people, digs, observations.

Cells are taken by their place in the row: a look-up by name costs more than all the rest.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Generator, Sequence
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, RowMapping, Select, func, select

from rootbound_service.records import (
    DigRecord,
    FieldRecord,
    ObservationRecord,
    Person,
    SoilRecord,
)
from rootbound_service.store.observations import OLDEST_FIRST, observation_from, standing
from rootbound_service.store.people import COLUMNS as PERSON
from rootbound_service.store.schema import dig, field, observation, person, season, soil
from rootbound_service.store.slices import slices

SOIL = tuple(column.name for column in soil.c if column.name not in {"field_id", "origins"})
WORDS = ("form_id", "by")
"""Columns that are NULL where a card says nothing."""
DIG = tuple(column.name for column in dig.c if column.name not in {"season_id", *WORDS})
FIELD = ("id", "account_id", "name", "lat", "lon", "elevation_m", "time_zone", "irrigated")
SEASON = ("crop", "planted", "row_spacing_cm", "seed_depth_cm", "black_layer_gdd_f")
PLAIN = FIELD + SEASON
KEYS_AT_ONCE = 10_000
"""Field keys in memory at a time."""


Rows = Sequence[Sequence[Any]]


class FieldKey(NamedTuple):
    """A field that is due, as far as it takes to put it into a chunk."""

    field_id: int
    season_id: int
    lat: float
    lon: float
    crop: str
    planted: date


def load_fields(
    conn: Connection, *where: ColumnElement[bool], on: date | None = None
) -> list[FieldRecord]:
    """Load fields, each with one season, its digs and what was observed, ordered by id.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    where
        Conditions on the field and season tables.
    on
        The day whose season is wanted: the latest planted by then, else the next one to
        be planted. None: the latest of all.

    Returns
    -------
    list of FieldRecord
        The fields that meet all conditions.
    """
    rows = _rows(conn, _fields_query(on).where(*where).order_by(field.c.id))
    seasons = [row[2] for row in rows]
    people = _people(conn, rows)
    digs, seen = _digs(conn, seasons), _observations(conn, seasons)
    return [_field(row, people, digs.get(row[2], ()), seen.get(row[2], ())) for row in rows]


def load_fields_of(
    conn: Connection, ids: Sequence[int], on: date | None = None
) -> list[FieldRecord]:
    """Load some fields in the order of their numbers as given; one that is not there is left out.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    ids
        Their numbers; a slice of 1,000 to 20,000 of a long list.
    on
        As for :func:`load_fields`.
    """
    found = {
        one.id: one
        for some in slices(ids)
        # the second condition spares PostgreSQL reading every season there is
        for one in load_fields(conn, field.c.id.in_(some), season.c.field_id.in_(some), on=on)
    }
    return [found[number] for number in ids if number in found]


def field_keys(conn: Connection, night: date) -> Generator[FieldKey]:
    """Stream every field that has a season by a night, ordered by its number.

    Parameters
    ----------
    conn
        A transaction of its own until the last is read; reading is enough. PostgreSQL holds
        the rows behind a cursor, so that a million need no memory here.
    night
        The night.

    Yields
    ------
    FieldKey
        The season is the one that :func:`load_fields` gives for the night.
    """
    query = (
        select(field.c.id, season.c.id, field.c.lat, field.c.lon, season.c.crop, season.c.planted)
        .select_from(field)
        .join(season, season.c.id == _current_season(night))
        .where(season.c.planted <= night)
        .order_by(field.c.id)
    )
    with conn.execute(query, execution_options={"yield_per": KEYS_AT_ONCE}) as found:
        for some in found.partitions():
            yield from map(FieldKey._make, some)


def count_due(conn: Connection, night: date) -> int:
    """Count the fields that have a season by a night.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The night.
    """
    planted = select(season.c.field_id).where(season.c.planted <= night).distinct().subquery()
    return conn.scalar(select(func.count()).select_from(planted)) or 0


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


def _fields_query(on: date | None) -> Select[Any]:
    """Grower, adviser, season and origins, then the cells of the soil and of the field."""
    return (
        select(
            field.c.grower_id,
            field.c.adviser_id,
            season.c.id,
            soil.c.origins,
            *(soil.c[name] for name in SOIL),
            *(field.c[name] for name in FIELD),
            *(season.c[name] for name in SEASON),
        )
        .select_from(field)
        .join(season, season.c.id == _current_season(on))
        .join(soil, soil.c.field_id == field.c.id)
    )


def _rows(conn: Connection, query: Select[Any]) -> Rows:
    """Run a query; cells are told apart by their place alone."""
    return conn.execute(query).all()


def _people(conn: Connection, rows: Rows) -> dict[int, Person]:
    """Load the growers and advisers of fields, each once."""
    numbers = {one for row in rows for one in row[:2] if one is not None}
    query = select(*(person.c[name] for name in PERSON))
    return {
        row.id: Person(**dict(zip(PERSON, row, strict=True)))
        for some in slices(numbers)
        for row in conn.execute(query.where(person.c.id.in_(some)))
    }


def _digs(conn: Connection, seasons: Sequence[int]) -> dict[int, list[DigRecord]]:
    """Load the digs of seasons, oldest first."""
    digs: dict[int, list[DigRecord]] = defaultdict(list)
    query = select(dig.c.season_id, *(dig.c[name] for name in (*WORDS, *DIG)))
    query = query.order_by(dig.c.dug_on, dig.c.id)
    for some in slices(seasons):
        for row in _rows(conn, query.where(dig.c.season_id.in_(some))):
            values: dict[str, Any] = dict(zip(DIG, row[3:], strict=True))
            card = DigRecord(form_id=row[1] or "", by=row[2] or "", **values)
            digs[row[0]].append(card)
    return digs


def _observations(conn: Connection, seasons: Sequence[int]) -> dict[int, list[ObservationRecord]]:
    """Load what was observed in seasons, oldest first, withdrawn ones among it."""
    seen: dict[int, list[ObservationRecord]] = defaultdict(list)
    query = select(observation).order_by(*OLDEST_FIRST)
    for some in slices(seasons):
        rows = conn.execute(query.where(observation.c.season_id.in_(some))).mappings()
        for row in rows:
            seen[row["season_id"]].append(observation_from(row))
    return seen


def _field(
    row: Sequence[Any],
    people: dict[int, Person],
    digs: Sequence[DigRecord],
    seen: Sequence[ObservationRecord],
) -> FieldRecord:
    grower, adviser, season_id, origins = row[:4]
    cells = row[4:]
    soils: dict[str, Any] = dict(zip(SOIL, cells[: len(SOIL)], strict=True))
    return FieldRecord(
        grower=people[grower],
        adviser=None if adviser is None else people[adviser],
        soil=SoilRecord(**soils, origins=origins or {}),
        digs=tuple(digs),
        observations=standing(seen) if seen else (),
        season_id=season_id,
        **dict(zip(PLAIN, cells[len(SOIL) :], strict=True)),
    )
