"""How a person's fields stand and stood, as every feed reads it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import select

from rootbound_service.store.fields import list_fields
from rootbound_service.store.risk import risk_history
from rootbound_service.store.schema import run

if TYPE_CHECKING:
    from sqlalchemy import Connection

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


@dataclass(frozen=True, slots=True)
class Stand:
    """One field with its nights, oldest first."""

    field: FieldRecord
    nights: tuple[Night, ...]

    @property
    def now(self) -> RiskRecord | None:
        """How it stands."""
        return self.nights[-1].row if self.nights else None


def stands_of(conn: Connection, person_id: int, now: datetime) -> list[Stand]:
    """Read the fields of a person with their latest nights.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        As grower or adviser.
    now
        The time, aware.
    """
    first = (now - BACK).date()
    query = select(run.c.night, run.c.finished_at).where(
        run.c.finished_at.is_not(None), run.c.night >= first
    )
    runs = [(row.night, row.finished_at) for row in conn.execute(query.order_by(run.c.night))]
    return [
        Stand(field, tuple(_nights(risk_history(conn, field.season_id), runs)))
        for field in list_fields(conn, now.date())
        if person_id in {field.grower.id, field.adviser.id if field.adviser else 0}
    ]


def told_at(stands: list[Stand]) -> datetime | None:
    """When the latest night of any field was there; None before the first."""
    return max((one.nights[-1].told_at for one in stands if one.nights), default=None)


def _nights(rows: list[RiskRecord], runs: list[tuple[date, datetime]]) -> list[Night]:
    """What held on each night: the row of that night, else the one before it."""
    found: list[Night] = []
    place = 0
    for night, at in runs:
        while place < len(rows) and rows[place].night <= night:
            place += 1
        if place:
            found.append(Night(night, at, rows[place - 1]))
    return found
