"""What feeds read of the past nights: many fields at once, and only what they show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, func, select

from rootbound_service.records import RiskRecord
from rootbound_service.store.risk import RISK
from rootbound_service.store.schema import note, outbox, outbox_note, risk, run


@dataclass(frozen=True, slots=True)
class ToldEarlier:
    """A rung that letters took out before its night was run again."""

    season_id: int
    night: date
    at: datetime
    """When that earlier run was done, aware UTC."""
    rung: int
    status: str


def finished_nights(conn: Connection, first: date) -> list[tuple[date, datetime]]:
    """Give the nights that were run to their end, and when, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    first
        No earlier ones.

    Returns
    -------
    list of tuple
        Without a night that was run after a later one: it corrects the past and is no news.
    """
    query = select(run.c.night, run.c.finished_at).where(
        run.c.finished_at.is_not(None), run.c.night >= first
    )
    found: list[tuple[date, datetime]] = []
    for night, at in conn.execute(query.order_by(run.c.night.desc())):
        if not found or at < found[-1][1]:
            found.append((night, at))
    return found[::-1]


def rows_since(
    conn: Connection, season_ids: Sequence[int], first: date, *, detail: bool
) -> dict[int, list[RiskRecord]]:
    """Give what was found for seasons from a night on, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_ids
        The seasons.
    first
        The night; each season's list begins with the row that held on it.
    detail
        Whether to read ``detail`` as well; it is most of what there is.

    Returns
    -------
    dict
        By season id; nights without a row were like the one before them.
    """
    own = risk.alias()
    held = select(func.max(own.c.night)).where(own.c.season_id == risk.c.season_id)
    held_on = held.where(own.c.night <= first).correlate(risk).scalar_subquery()
    columns = [risk.c[name] for name in RISK if detail or name != "detail"]
    query = select(*columns).where(
        risk.c.season_id.in_(season_ids), risk.c.night >= func.coalesce(held_on, first)
    )
    found: dict[int, list[RiskRecord]] = defaultdict(list)
    for row in conn.execute(query.order_by(risk.c.season_id, risk.c.night)).mappings():
        values: dict[str, Any] = {**row, "detail": row["detail"] or {} if detail else {}}
        found[row["season_id"]].append(RiskRecord(**values))
    return found


def told_earlier(
    conn: Connection, season_ids: Sequence[int], first: date
) -> dict[int, list[ToldEarlier]]:
    """Give what letters said of nights that were run again after them, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_ids
        The seasons.
    first
        No earlier nights.
    """
    at = func.min(outbox.c.created_at).label("at")
    spoken = (
        select(note.c.id, at)
        .join(outbox_note, outbox_note.c.note_id == note.c.id)
        .join(outbox, outbox.c.id == outbox_note.c.outbox_id)
        .where(note.c.season_id.in_(season_ids), note.c.night >= first)
        .group_by(note.c.id)
        .subquery()
    )
    query = (
        select(note.c.season_id, note.c.night, note.c.to_rung, note.c.evidence, spoken.c.at)
        .join(spoken, spoken.c.id == note.c.id)
        .join(run, run.c.night == note.c.night)
        .where(spoken.c.at < run.c.finished_at, note.c.to_rung.is_not(None))
    )
    found: dict[int, list[ToldEarlier]] = defaultdict(list)
    for one in conn.execute(query.order_by(spoken.c.at)):
        status = one.evidence.get("status", "watched")
        told = ToldEarlier(one.season_id, one.night, one.at, one.to_rung, status)
        found[one.season_id].append(told)
    return found
