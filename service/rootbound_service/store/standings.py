"""How each field stands now, kept in the order of urgency so that a list need not be sorted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    func,
    or_,
    select,
    update,
)

from rootbound_service.records import Person
from rootbound_service.store.people import COLUMNS, person_from
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import field, member, person, risk, season, standing

PLACES = {"unknown": 3.2, "unrated": 3.4, "waiting": 5.0, "finished": 6.0}
"""Among 4 - rung: fields without an answer and without a dig come before the ample ones."""
FULL_MM = 1000.0
"""More water than any soil holds in reach: within a rung the driest field comes first. [mm]"""


@dataclass(frozen=True, slots=True)
class Standing:
    """One field as it stands."""

    field_id: int
    season_id: int
    night: date | None
    status: str
    rung: int | None
    changed: int
    """Counts whatever changed on the field."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which fields of an account; None and empty: all."""

    account_id: int
    grower_id: int | None = None
    """Only this grower's."""
    crop: str = ""
    rungs: tuple[int, ...] = ()
    status: str = ""
    text: str = ""
    """Part of a field's or a grower's name."""


def place_of(status: str, rung: int | None, water_in_reach_mm: float | None) -> float:
    """Give a field's place in the order of urgency.

    Parameters
    ----------
    status, rung
        As a risk row has them. [0-4]
    water_in_reach_mm
        The less, the earlier within a rung. [mm]

    Returns
    -------
    float
        The least first.
    """
    if status == "watched" and rung is not None:
        left = FULL_MM if water_in_reach_mm is None else min(max(water_in_reach_mm, 0.0), FULL_MM)
        return 4.0 - rung + left / (FULL_MM * 10.0)
    return PLACES.get(status, PLACES["unknown"])


def stand_anew(conn: Connection, field_id: int) -> None:
    """Put a field where its latest season and that season's latest night say.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id
        The field.
    """
    latest = (
        select(field.c.account_id, field.c.grower_id, season.c.id, season.c.crop)
        .join(season, season.c.field_id == field.c.id)
        .where(field.c.id == field_id)
        .order_by(season.c.planted.desc())
        .limit(1)
    )
    own = conn.execute(latest).one()
    nights = select(risk).where(risk.c.season_id == own.id).order_by(risk.c.night.desc())
    row = conn.execute(nights.limit(1)).one_or_none()
    status, rung = (row.status, row.rung) if row else ("waiting", None)
    values: dict[str, Any] = {
        "field_id": field_id,
        "account_id": own.account_id,
        "grower_id": own.grower_id,
        "season_id": own.id,
        "crop": own.crop,
        "night": row.night if row else None,
        "status": status,
        "rung": rung,
        "place": place_of(status, rung, row.water_in_reach_mm if row else None),
    }
    put = insert_into(conn, standing).values(values | {"changed": 0})
    anew = values | {"changed": standing.c.changed + 1}
    conn.execute(put.on_conflict_do_update(index_elements=["field_id"], set_=anew))


def touch(conn: Connection, *, field_id: int | None = None, season_id: int | None = None) -> None:
    """Count a change on a field, so that no page of it is shown as it was.

    Parameters
    ----------
    conn
        The caller's transaction, in which it was changed.
    field_id, season_id
        The field, by itself or by its latest season.
    """
    this = (
        standing.c.field_id == field_id
        if season_id is None
        else (standing.c.season_id == season_id)
    )
    conn.execute(update(standing).where(this).values(changed=standing.c.changed + 1))


def standings(conn: Connection, wanted: Wanted, *, limit: int, offset: int = 0) -> list[Standing]:
    """List fields by urgency.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    wanted
        Which fields.
    limit, offset
        How many, after how many.
    """
    query = select(standing).where(*_where(wanted))
    query = query.order_by(standing.c.place, standing.c.field_id).limit(limit).offset(offset)
    return [
        Standing(row.field_id, row.season_id, row.night, row.status, row.rung, row.changed)
        for row in conn.execute(query)
    ]


def standing_of(conn: Connection, wanted: Wanted, field_id: int) -> Standing | None:
    """Give how one field stands; None for one that is not among those wanted.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    wanted
        Which fields may be looked at.
    field_id
        The field.
    """
    query = select(standing).where(standing.c.field_id == field_id, *_where(wanted))
    row = conn.execute(query).one_or_none()
    if row is None:
        return None
    return Standing(row.field_id, row.season_id, row.night, row.status, row.rung, row.changed)


def fitting(conn: Connection, wanted: Wanted, after: int, limit: int) -> list[int]:
    """Give the numbers of fields in their own order, for whoever reads all of them by pages.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    wanted
        Which fields.
    after
        Only larger numbers.
    limit
        How many.
    """
    query = select(standing.c.field_id).where(*_where(wanted), standing.c.field_id > after)
    return list(conn.scalars(query.order_by(standing.c.field_id).limit(limit)))


def counted(conn: Connection, wanted: Wanted) -> dict[tuple[str, int | None], int]:
    """Count fields by status and rung.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    wanted
        Which fields.
    """
    group = (standing.c.status, standing.c.rung)
    query = select(*group, func.count().label("many")).where(*_where(wanted)).group_by(*group)
    return {(row.status, row.rung): row.many for row in conn.execute(query)}


def growers_in(conn: Connection, account_id: int) -> Sequence[tuple[int, str]]:
    """List the growers with a field in an account, by name.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    """
    theirs = select(standing.c.grower_id).where(standing.c.account_id == account_id)
    query = select(person.c.id, person.c.name).where(person.c.id.in_(theirs))
    return [(row.id, row.name) for row in conn.execute(query.order_by(person.c.name))]


def growers_with_mail(conn: Connection, account_id: int) -> list[Person]:
    """List the people of an account who may be growers, by name.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    """
    here = (member.c.account_id == account_id) & member.c.role.in_(("grower", "adviser"))
    query = select(*(person.c[name] for name in COLUMNS)).join(
        member, member.c.person_id == person.c.id
    )
    rows = conn.execute(query.where(here).order_by(person.c.name)).mappings()
    return [person_from(row) for row in rows]


def _where(wanted: Wanted) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = [standing.c.account_id == wanted.account_id]
    if wanted.grower_id is not None:
        found.append(standing.c.grower_id == wanted.grower_id)
    if wanted.crop:
        found.append(standing.c.crop == wanted.crop)
    if wanted.status:
        found.append(standing.c.status == wanted.status)
    if wanted.rungs:
        found.append(standing.c.rung.in_(wanted.rungs))
        found.append(standing.c.status == "watched")
    if wanted.text.strip():
        part = " ".join(wanted.text.split()).casefold()
        named = field.c.name_key.contains(part, autoescape=True)
        grower = func.lower(person.c.name).contains(part, autoescape=True)
        fits = (
            select(field.c.id)
            .join(person, person.c.id == field.c.grower_id)
            .where(field.c.account_id == wanted.account_id, or_(named, grower))
        )
        found.append(standing.c.field_id.in_(fits))
    return found
