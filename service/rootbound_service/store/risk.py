"""What each night found: a row only when something changed beyond rounding, and the notes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Connection, select

from rootbound_service.records import NoteRecord, RiskRecord
from rootbound_service.store.portable import insert_into
from rootbound_service.store.risk_bulk import drop_risk, put_risk, stand_back
from rootbound_service.store.risk_months import room_for
from rootbound_service.store.risk_read import latest_rows
from rootbound_service.store.risk_shape import (
    COMPARED,
    KEYS,
    RISK,
    ROUNDING,
    Cells,
    cells_of,
    differs,
    is_sqlite,
    packed,
    record_of,
)
from rootbound_service.store.schema import note, risk

__all__ = ["NOTE", "RISK", "ROUNDING"]
NOTE = tuple(one.name for one in fields(NoteRecord))


def latest_risk(
    conn: Connection, before: date, seasons: Sequence[int] | None = None
) -> dict[int, RiskRecord]:
    """Give each season's latest row of an earlier night: the memory of the ladder.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    before
        The night about to be decided; its own row is left out.
    seasons
        Only these; None: all.

    Returns
    -------
    dict
        By season id; a season without an earlier row is not in it.
    """
    return risk_on(conn, before - timedelta(days=1), seasons)


def risk_on(
    conn: Connection, night: date, seasons: Sequence[int] | None = None
) -> dict[int, RiskRecord]:
    """Give what holds on a night: each season's latest row of that night or earlier.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The night.
    seasons
        Only these; None: all.

    Returns
    -------
    dict
        By season id; a season without a row by then is not in it.
    """
    found = latest_rows(conn, night, seasons, RISK)
    return {row[0]: record_of(row) for row in found}


def risk_of_seasons(conn: Connection, seasons: Iterable[int]) -> dict[int, RiskRecord]:
    """Give the latest row of some seasons.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    seasons
        Their numbers.

    Returns
    -------
    dict
        By season id; a season without a row is not in it.
    """
    return risk_on(conn, date.max, list(seasons))


def risk_history(conn: Connection, season_id: int) -> list[RiskRecord]:
    """Give every row of a season, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_id
        The season.

    Returns
    -------
    list of RiskRecord
        Nights without a row were like the one before them.
    """
    own = select(*(risk.c[name] for name in RISK)).where(risk.c.season_id == season_id)
    return [RiskRecord(*row) for row in conn.execute(own.order_by(risk.c.night))]


def save_risk(conn: Connection, rows: Iterable[RiskRecord]) -> int:
    """Store what a night found, where it differs beyond rounding from what held before.

    A night that is run again leaves what it would have left the first time. After an
    earlier night is run again, later ones should be too: they were compared with it.

    Parameters
    ----------
    conn
        The caller's transaction.
    rows
        One for each season and night.

    Returns
    -------
    int
        How many rows were written.
    """
    nights: dict[date, list[RiskRecord]] = defaultdict(list)
    for row in rows:
        nights[row.night].append(row)
    return sum(_save_night(conn, night, nights[night]) for night in sorted(nights))


def changed(old: RiskRecord, new: RiskRecord) -> bool:
    """Tell whether two nights of a season differ beyond rounding.

    Parameters
    ----------
    old, new
        The two nights' rows.

    Returns
    -------
    bool
        True if ``new`` is worth a row of its own.
    """
    return differs(cells_of(old), cells_of(new))


def save_notes(conn: Connection, notes: Iterable[NoteRecord]) -> int:
    """Store notes; one whose dedupe key is there already stays as it is.

    Parameters
    ----------
    conn
        The caller's transaction.
    notes
        The notes decided; ids are not read.

    Returns
    -------
    int
        How many were new.
    """
    new = 0
    for record in notes:
        values = {name: getattr(record, name) for name in NOTE if name != "id"}
        insert = insert_into(conn, note).values(values)
        insert = insert.on_conflict_do_nothing(index_elements=["dedupe_key"])
        new += conn.scalar(insert.returning(note.c.id)) is not None
    return new


def notes_between(conn: Connection, start: date, end: date) -> list[NoteRecord]:
    """Give the notes of some nights, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    start, end
        First and last night, both included.

    Returns
    -------
    list of NoteRecord
        The notes, each with its evidence.
    """
    query = select(note).where(note.c.night.between(start, end)).order_by(note.c.night, note.c.id)
    return [note_from(row) for row in conn.execute(query).mappings()]


def note_from(row: Mapping[Any, Any]) -> NoteRecord:
    """Make a note of a row of the note table."""
    return NoteRecord(**{name: row[name] for name in NOTE})


def _save_night(conn: Connection, night: date, rows: Sequence[RiskRecord]) -> int:
    lite = is_sqlite(conn)
    before = night - timedelta(days=1)
    room_for(conn, [night])
    new = {row.season_id: row for row in rows}
    held = {one[0]: one for one in latest_rows(conn, before, list(new), (*KEYS, *COMPARED))}
    differing: list[tuple[RiskRecord, Cells]] = []
    alike: list[int] = []
    for number, row in new.items():
        cells, old = packed(row, dates_as_text=lite), held.get(number)
        if old is None or differs(old[2:], cells):
            differing.append((row, cells))
        else:
            alike.append(number)
    if alike:  # an earlier run of this night may have written a row for them
        gone = drop_risk(conn, night, alike)
        stand_back(conn, night, [held[number] for number in gone])
    if differing:
        put_risk(conn, night, differing)
    return len(differing)
