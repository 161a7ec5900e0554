"""What the soil services were asked and what came of it, kept as it came."""

from __future__ import annotations

import gzip
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, func, insert, select

from rootbound_service.store.schema import soil_answer

PLACE_DEG = 0.0025
"""Fields within one square of this are taken to lie on the same ground, about 250 m. [deg]"""
Profile = dict[str, object]
COLUMNS = ("field_id", "asked_at", "place", "source", "profile", "retry_later")


@dataclass(frozen=True, slots=True)
class SoilAnswer:
    """One asking for one field."""

    field_id: int
    asked_at: datetime
    place: str
    source: str | None
    """Who answered; None where nobody could."""
    profile: Profile | None
    """What it found, as plain values."""
    reasons: tuple[str, ...] = ()
    """Why the others did not."""
    retry_later: bool = False
    """Whether one of them may answer another time."""
    raw: bytes = b""
    """The answer as it came; not read back by :func:`newest_answers`."""


def place_key(lat: float, lon: float) -> str:
    """Name the small square that a place lies in.

    Parameters
    ----------
    lat, lon
        The place. [deg]
    """
    return f"{round(lat / PLACE_DEG)}:{round(lon / PLACE_DEG)}"


def keep_answer(conn: Connection, answer: SoilAnswer) -> None:
    """Keep one asking.

    Parameters
    ----------
    conn
        The caller's transaction.
    answer
        What came of it.
    """
    raw = gzip.compress(answer.raw, mtime=0) if answer.raw else None
    row = {name: getattr(answer, name) for name in COLUMNS}
    conn.execute(insert(soil_answer).values(row | {"raw": raw, "reasons": list(answer.reasons)}))


def newest_answers(
    conn: Connection, field_ids: Iterable[int], *, found: bool = False
) -> dict[int, SoilAnswer]:
    """Give each field's newest asking.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    field_ids
        The fields.
    found
        Only askings that somebody answered.

    Returns
    -------
    dict
        By field id; a field that was never asked for is not in it.
    """
    wanted = set(field_ids)
    newest = select(func.max(soil_answer.c.id)).group_by(soil_answer.c.field_id)
    if found:
        newest = newest.where(soil_answer.c.source.is_not(None))
    if len(wanted) == 1:
        newest = newest.where(soil_answer.c.field_id.in_(wanted))
    rows = conn.execute(_query().where(soil_answer.c.id.in_(newest))).mappings()
    return {row["field_id"]: _answer(row) for row in rows if row["field_id"] in wanted}


def answer_at(conn: Connection, place: str, source: str) -> SoilAnswer | None:
    """Give what a source last found at a place, whatever field it was asked for.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    place
        From :func:`place_key`.
    source
        The service's short name.
    """
    at = (soil_answer.c.place == place) & (soil_answer.c.source == source)
    row = conn.execute(_query().where(at).order_by(soil_answer.c.id.desc())).mappings().first()
    return None if row is None else _answer(row)


def raw_answer(conn: Connection, field_id: int) -> bytes:
    """Give the newest answer for a field as it came, empty where there is none.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    field_id
        The field.
    """
    mine = (soil_answer.c.field_id == field_id) & soil_answer.c.raw.is_not(None)
    query = select(soil_answer.c.raw).where(mine).order_by(soil_answer.c.id.desc())
    raw: bytes | None = conn.scalar(query.limit(1))
    return b"" if raw is None else gzip.decompress(raw)


def _query() -> Select[Any]:
    return select(*(soil_answer.c[name] for name in (*COLUMNS, "reasons")))


def _answer(row: RowMapping) -> SoilAnswer:
    reasons: list[str] = row["reasons"]
    found: dict[str, Any] = {name: row[name] for name in COLUMNS}
    return SoilAnswer(**found, reasons=tuple(reasons))
