"""What each night found: a row only when something changed beyond rounding, and the notes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Connection, RowMapping, bindparam, delete, func, select

from rootbound_service.records import NoteRecord, RiskRecord
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import note, risk, season
from rootbound_service.store.slices import slices
from rootbound_service.store.standings import stand_as

MM, DAYS, SHARE, STRESS, HEAT = 0.05, 0.05, 0.005, 0.005, 0.5
ROUNDING = {
    "gdd_f_total": HEAT,
    "water_in_reach_mm": MM,
    "free_water_mm": MM,
    "days_ahead_median": DAYS,
    "days_ahead_low": DAYS,
    "days_ahead_high": DAYS,
    "chance_7": SHARE,
    "chance_14": SHARE,
    "stress_past_7": STRESS,
    "stress_season": STRESS,
    "reach": SHARE,
}
"""The rounding rule, half of what is shown: a change up to this alone writes no row."""
RISK = tuple(one.name for one in fields(RiskRecord))
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
    own = risk.alias()
    # one look into the primary key a season, instead of a pass over every night
    latest = (
        select(func.max(own.c.night))
        .where(own.c.season_id == season.c.id, own.c.night <= night)
        .correlate(season)
        .scalar_subquery()
    )
    query = select(risk).join(season, season.c.id == risk.c.season_id)
    query = query.where(risk.c.night == latest)
    if seasons is not None:
        query = query.where(season.c.id.in_(list(seasons)))
    return {row["season_id"]: _risk(row) for row in conn.execute(query).mappings()}


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
    found: dict[int, RiskRecord] = {}
    own = risk.alias()
    latest = select(func.max(own.c.night)).where(own.c.season_id == risk.c.season_id)
    for some in slices(seasons):
        query = select(risk).where(risk.c.season_id.in_(some))
        rows = conn.execute(query.where(risk.c.night == latest.scalar_subquery())).mappings()
        found |= {row["season_id"]: _risk(row) for row in rows}
    return found


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
    query = select(risk).where(risk.c.season_id == season_id).order_by(risk.c.night)
    return [_risk(row) for row in conn.execute(query).mappings()]


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
    ignored = {"night", "detail"}
    if old.status == new.status == "finished":
        ignored.add("weather_through")  # the season is over: later weather changes nothing
    return any(
        _differs(getattr(old, name), getattr(new, name), ROUNDING.get(name))
        for name in RISK
        if name not in ignored
    )


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
        values = asdict(record)
        del values["id"]
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


def _risk(row: RowMapping) -> RiskRecord:
    values: dict[str, Any] = {name: row[name] for name in RISK}
    values["detail"] = values["detail"] or {}
    return RiskRecord(**values)


def _differs(old: Any, new: Any, rounding: float | None) -> bool:
    if rounding is None or old is None or new is None:
        return bool(old != new)
    return bool(abs(old - new) > rounding)


def _save_night(conn: Connection, night: date, rows: list[RiskRecord]) -> int:
    held = latest_risk(conn, night)
    differing: list[dict[str, Any]] = []
    alike: list[dict[str, int]] = []
    new_rows: list[RiskRecord] = []
    for row in rows:
        old = held.get(row.season_id)
        if old is None or changed(old, row):
            differing.append(asdict(row))
            new_rows.append(row)
        else:
            alike.append({"season": row.season_id})
    if alike:  # an earlier run of this night may have written a row for them
        this = (risk.c.season_id == bindparam("season")) & (risk.c.night == night)
        conn.execute(delete(risk).where(this), alike)
    if differing:
        put = insert_into(conn, risk)
        new = {name: put.excluded[name] for name in RISK if name not in {"season_id", "night"}}
        keys = ["season_id", "night"]
        conn.execute(put.on_conflict_do_update(index_elements=keys, set_=new), differing)
        stand_as(conn, new_rows)
    return len(differing)
