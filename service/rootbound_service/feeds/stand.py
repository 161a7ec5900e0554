"""How a person's fields stand and stood, as every feed reads it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import or_

from rootbound_service.feeds.cap_chain import LEAD
from rootbound_service.store.feed_nights import (
    ToldEarlier,
    finished_nights,
    rows_since,
    told_earlier,
)
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.schema import field, season

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import ColumnElement, Connection

    from rootbound_service.records import FieldRecord, RiskRecord

BACK = timedelta(days=30)
"""So far back feeds look: whoever reads them reads them every day."""


@dataclass(frozen=True, slots=True)
class Night:
    """One night that was run to its end."""

    night: date
    told_at: datetime
    """When its result was there, aware UTC."""
    row: RiskRecord
    """What held on it; its own night may be an earlier one."""


@dataclass(frozen=True, slots=True)
class Stand:
    """One field with its nights, oldest first."""

    field: FieldRecord
    nights: tuple[Night, ...]
    told: tuple[ToldEarlier, ...] = ()
    """What letters said of nights that were run again after them."""

    @property
    def now(self) -> RiskRecord | None:
        """How it stands."""
        return self.nights[-1].row if self.nights else None


def stands_now(conn: Connection, person_id: int, now: datetime) -> list[Stand]:
    """Read the fields of a person with the latest night alone, and all that it kept.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        As grower or adviser.
    now
        The time, aware.
    """
    runs = finished_nights(conn, (now - BACK).date())[-1:]
    fields = load_fields(conn, _of(person_id), on=now.date())
    if not runs:
        return [Stand(one, ()) for one in fields]
    rows = rows_since(conn, _ids(fields), runs[0][0], detail=True)
    return [Stand(one, _nights(rows.get(one.season_id, []), runs)) for one in fields]


def stands_since(
    conn: Connection, person_id: int, now: datetime, first: date, season_id: int | None = None
) -> list[Stand]:
    """Read the fields of a person with all their nights, and so many before as chains need.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        As grower or adviser.
    now
        The time, aware.
    first
        The first night that is asked for.
    season_id
        Only the field with this season; None: all.
    """
    only = [season.c.id == season_id] if season_id is not None else []
    begin = first - LEAD
    runs = finished_nights(conn, begin)
    fields = load_fields(conn, _of(person_id), *only, on=now.date())
    ids = _ids(fields)
    rows = rows_since(conn, ids, begin, detail=False)
    told = told_earlier(conn, ids, begin)
    return [
        Stand(one, _nights(rows.get(one.season_id, []), runs), tuple(told.get(one.season_id, ())))
        for one in fields
    ]


def told_at(stands: Sequence[Stand]) -> datetime | None:
    """When the latest night of any field was there; None before the first."""
    return max((one.nights[-1].told_at for one in stands if one.nights), default=None)


def changed_at(stands: Sequence[Stand]) -> datetime | None:
    """When anything that feeds show was changed last: a night, a dig; None: not known."""
    digs = (dig.recorded_at for one in stands for dig in one.field.digs)
    night = told_at(stands)
    known = [moment for moment in (night, *digs) if moment is not None]
    return max(known) if night is not None else None


def _of(person_id: int) -> ColumnElement[bool]:
    """Whether a field is a person's, as grower or adviser."""
    return or_(field.c.grower_id == person_id, field.c.adviser_id == person_id)


def _ids(fields: Sequence[FieldRecord]) -> list[int]:
    return [one.season_id for one in fields]


def _nights(rows: Sequence[RiskRecord], runs: Sequence[tuple[date, datetime]]) -> tuple[Night, ...]:
    """What held on each night: the row of that night, else the one before it."""
    found: list[Night] = []
    place = 0
    for night, at in runs:
        while place < len(rows) and rows[place].night <= night:
            place += 1
        if place:
            found.append(Night(night, at, rows[place - 1]))
    return tuple(found)
