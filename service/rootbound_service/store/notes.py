"""Notes found again: one by its number, or a list of them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from sqlalchemy import Connection, func, select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import NoteRecord
from rootbound_service.store.risk import NOTE, note_from
from rootbound_service.store.schema import field, note, run, season


def find_note(conn: Connection, note_id: int) -> NoteRecord:
    """Give one note.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    note_id
        Its number.

    Raises
    ------
    RefusedInput
        If there is no such note.
    """
    row = conn.execute(select(note).where(note.c.id == note_id)).mappings().one_or_none()
    if row is None:
        last = conn.scalar(select(func.max(note.c.id)))
        wanted = "no note has been decided yet" if last is None else "see rootbound notes"
        raise RefusedInput((Problem("note", f"there is no note {note_id}", wanted),))
    return note_from(row)


def notes_listed(
    conn: Connection,
    season_ids: Iterable[int] | None = None,
    note_ids: Iterable[int] | None = None,
    since: date | None = None,
) -> list[tuple[NoteRecord, str]]:
    """Give notes without their evidence, latest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_ids, note_ids
        Only those of these seasons, or of these numbers; None: all.
    since
        Only those of this night and later; None: of any.

    Returns
    -------
    list of tuple
        Each note, its evidence empty, with the name of its field.
    """
    columns = [note.c[name] for name in NOTE if name != "evidence"]
    query = (
        select(*columns, field.c.name)
        .join(season, season.c.id == note.c.season_id)
        .join(field, field.c.id == season.c.field_id)
        .order_by(note.c.night.desc(), note.c.id.desc())
    )
    if season_ids is not None:
        query = query.where(note.c.season_id.in_(list(season_ids)))
    if note_ids is not None:
        query = query.where(note.c.id.in_(list(note_ids)))
    if since is not None:
        query = query.where(note.c.night >= since)
    rows = conn.execute(query).mappings()
    return [(note_from({**row, "evidence": {}}), row["name"]) for row in rows]


def was_run(conn: Connection, night: date) -> bool:
    """Tell whether a night was run to its end."""
    query = select(run.c.finished_at).where(run.c.night == night)
    return conn.scalar(query) is not None
