"""What the end of a year's seasons is judged by, in a few statements for any number of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from rootbound_service.records import DigRecord, NoteRecord, ObservationRecord, RiskRecord
from rootbound_service.store.field_rows import dig_from
from rootbound_service.store.observations import OLDEST_FIRST, observation_from, standing
from rootbound_service.store.risk import NOTE, note_from, risk_of_seasons
from rootbound_service.store.schema import dig, field, note, observation, person, season
from rootbound_service.store.slices import slices


@dataclass(frozen=True, slots=True)
class StoredSeason:
    """One field-season as stored, without its days."""

    season_id: int
    field_id: int
    field_name: str
    grower: str
    crop: str
    planted: date
    irrigated: bool
    notes: tuple[NoteRecord, ...]
    """Oldest first, without their evidence."""
    seen: tuple[ObservationRecord, ...]
    """Those that stand, oldest first."""
    digs: tuple[DigRecord, ...]
    """Oldest first."""
    risk: RiskRecord | None
    """The last row."""


def seasons_past(conn: Connection, year: int, field_ids: Iterable[int]) -> tuple[StoredSeason, ...]:
    """Give the seasons of one year on some fields, by name.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    year
        Of planting.
    field_ids
        The fields that the reader may see.

    Returns
    -------
    tuple of StoredSeason
        A field without a season in that year is not in it.
    """
    rows = _seasons(conn, year, field_ids)
    ids = [row["season_id"] for row in rows]
    notes, seen, digs = _notes(conn, ids), _seen(conn, ids), _digs(conn, ids)
    risks = risk_of_seasons(conn, ids)
    found = (
        StoredSeason(
            **row,
            notes=tuple(notes[row["season_id"]]),
            seen=standing(seen[row["season_id"]]),
            digs=tuple(digs[row["season_id"]]),
            risk=risks.get(row["season_id"]),
        )
        for row in rows
    )
    return tuple(sorted(found, key=lambda one: (one.field_name.casefold(), one.field_id)))


def years_past(conn: Connection, field_ids: Iterable[int]) -> tuple[int, ...]:
    """Give the years in which some fields were planted, latest first."""
    found: set[int] = set()
    for some in slices(field_ids):
        query = select(season.c.year).where(season.c.field_id.in_(some)).distinct()
        found |= set(conn.scalars(query))
    return tuple(sorted(found, reverse=True))


def _seasons(conn: Connection, year: int, field_ids: Iterable[int]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for some in slices(field_ids):
        query = (
            select(
                season.c.id.label("season_id"),
                field.c.id.label("field_id"),
                field.c.name.label("field_name"),
                person.c.name.label("grower"),
                season.c.crop,
                season.c.planted,
                field.c.irrigated,
            )
            .join(field, field.c.id == season.c.field_id)
            .join(person, person.c.id == field.c.grower_id)
            .where(season.c.year == year, field.c.id.in_(some))
        )
        found += [dict(row) for row in conn.execute(query).mappings()]
    return found


def _notes(conn: Connection, seasons: list[int]) -> dict[int, list[NoteRecord]]:
    """Notes without their evidence, which alone is most of a note."""
    columns = [note.c[name] for name in NOTE if name != "evidence"]
    found: dict[int, list[NoteRecord]] = defaultdict(list)
    for some in slices(seasons):
        query = select(*columns).where(note.c.season_id.in_(some))
        for row in conn.execute(query.order_by(note.c.night, note.c.id)).mappings():
            found[row["season_id"]].append(note_from({**row, "evidence": {}}))
    return found


def _seen(conn: Connection, seasons: list[int]) -> dict[int, list[ObservationRecord]]:
    found: dict[int, list[ObservationRecord]] = defaultdict(list)
    for some in slices(seasons):
        query = select(observation).where(observation.c.season_id.in_(some))
        for row in conn.execute(query.order_by(*OLDEST_FIRST)).mappings():
            found[row["season_id"]].append(observation_from(row))
    return found


def _digs(conn: Connection, seasons: list[int]) -> dict[int, list[DigRecord]]:
    found: dict[int, list[DigRecord]] = defaultdict(list)
    for some in slices(seasons):
        query = select(dig).where(dig.c.season_id.in_(some))
        for row in conn.execute(query.order_by(dig.c.dug_on, dig.c.id)).mappings():
            found[row["season_id"]].append(dig_from(row))
    return found
