"""What people saw and did: rows are added, never changed; a later row may take one back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, fields
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, RowMapping, select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import ObservationRecord
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import observation, season
from rootbound_service.store.standings import touch

COLUMNS = tuple(one.name for one in fields(ObservationRecord) if one.name != "form_id")


def add_observation(
    conn: Connection, season_id: int, record: ObservationRecord
) -> ObservationRecord:
    """Store an observation; one whose form_id the season has already is not stored again.

    Parameters
    ----------
    conn
        The caller's transaction.
    season_id
        The season it is of.
    record
        What was seen or done; ``id`` is not read.

    Returns
    -------
    ObservationRecord
        The observation as stored, the first one if it was sent twice.

    Raises
    ------
    RefusedInput
        If there is no such season, or if it withdraws what does not stand in this season.
    """
    if conn.scalar(select(season.c.id).where(season.c.id == season_id)) is None:
        what, wanted = f"there is no season {season_id}", "enrol the field first"
        raise RefusedInput((Problem("observation", what, wanted),))
    sent = _sent_before(conn, season_id, record.form_id)
    if sent is not None:
        return sent
    if record.withdraws is not None:
        _check_stands(every_observation(conn, season_id), record.withdraws)
    values = asdict(record) | {"season_id": season_id, "form_id": record.form_id or None}
    del values["id"]
    new = insert_into(conn, observation).values(values)
    new = new.on_conflict_do_nothing(index_elements=["season_id", "form_id"])
    row_id = conn.scalar(new.returning(observation.c.id))
    if row_id is None:  # sent twice at the same moment
        return _one(conn, _form(season_id, record.form_id))
    touch(conn, season_id=season_id)
    return _one(conn, observation.c.id == row_id)


def every_observation(
    conn: Connection, season_id: int, at: datetime | None = None
) -> tuple[ObservationRecord, ...]:
    """Give all rows of a season, the withdrawn and the withdrawing among them, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_id
        The season.
    at
        Only what was recorded by then; None: all. Aware.
    """
    query = select(observation).where(observation.c.season_id == season_id)
    if at is not None:
        query = query.where(observation.c.recorded_at <= at)
    rows = conn.execute(query.order_by(*OLDEST_FIRST)).mappings()
    return tuple(observation_from(row) for row in rows)


def observations_as_of(
    conn: Connection, season_id: int, at: datetime
) -> tuple[ObservationRecord, ...]:
    """Give the observations that stood at a moment, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_id
        The season.
    at
        The moment; what was withdrawn later stood then. Aware.

    Returns
    -------
    tuple of ObservationRecord
        Without those withdrawn by then and those that withdraw.
    """
    return standing(every_observation(conn, season_id, at))


def standing(records: Iterable[ObservationRecord]) -> tuple[ObservationRecord, ...]:
    """Leave out what was withdrawn and what withdraws, keeping the order.

    Parameters
    ----------
    records
        Rows of one season, as :func:`every_observation` gives them.
    """
    rows = tuple(records)
    gone = {one.withdraws for one in rows}
    return tuple(one for one in rows if one.withdraws is None and one.id not in gone)


def observation_from(row: RowMapping) -> ObservationRecord:
    """Make an observation of a row.

    Parameters
    ----------
    row
        A row of the observation table.

    Returns
    -------
    ObservationRecord
        The observation.
    """
    values = {name: row[name] for name in COLUMNS}
    return ObservationRecord(**values, form_id=row["form_id"] or "")


OLDEST_FIRST = (observation.c.recorded_at, observation.c.id)


def _form(season_id: int, form_id: str) -> ColumnElement[bool]:
    return (observation.c.season_id == season_id) & (observation.c.form_id == form_id)


def _one(conn: Connection, where: ColumnElement[bool]) -> ObservationRecord:
    return observation_from(conn.execute(select(observation).where(where)).mappings().one())


def _sent_before(conn: Connection, season_id: int, form_id: str) -> ObservationRecord | None:
    """The stored observation of a form, if it came before."""
    query = select(observation).where(_form(season_id, form_id or ""))
    row = conn.execute(query).mappings().one_or_none()
    return None if row is None else observation_from(row)


def _check_stands(rows: Sequence[ObservationRecord], number: int) -> None:
    """Refuse to withdraw what is not there, was withdrawn before, or itself withdraws."""
    if any(one.id == number for one in standing(rows)):
        return
    stand = ", ".join(str(one.id) for one in standing(rows))
    wanted = f"give one of {stand}" if stand else "nothing is recorded that could be withdrawn"
    if any(one.withdraws == number for one in rows):
        what = f"observation {number} has been withdrawn already"
    elif any(one.id == number for one in rows):
        what = f"observation {number} itself withdraws another"
        wanted += "; to bring a withdrawn one back record it again"
    else:
        what = f"this field's season has no observation {number}"
    raise RefusedInput((Problem("withdraw", what, wanted),))
