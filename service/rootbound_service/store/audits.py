"""Who changed what, when and by what way; rows are added, never changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import Connection, insert, select

from rootbound_service.store.schema import audit, field, person
from rootbound_service.store.standings import touch

Way = Literal["page", "api", "command", "link"]
MOST_LISTED = 200


@dataclass(frozen=True, slots=True)
class Actor:
    """Who does something, and where."""

    account_id: int | None
    person_id: int | None
    way: Way


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log."""

    id: int
    at: datetime
    who: str
    way: Way
    what: str
    field_id: int | None
    field_name: str
    detail: Mapping[str, object]


def log(
    conn: Connection,
    actor: Actor,
    now: datetime,
    what: str,
    field_id: int | None = None,
    **detail: object,
) -> None:
    """Write down a change, in the transaction that makes it.

    Parameters
    ----------
    conn
        The caller's transaction.
    actor
        Who.
    now
        The time.
    what
        What was done, such as ``dig.add``.
    field_id
        On which field, if on one.
    detail
        What JSON holds; no address, number or key.
    """
    made = insert(audit).values(
        at=now,
        account_id=actor.account_id,
        person_id=actor.person_id,
        way=actor.way,
        what=what,
        field_id=field_id,
        detail=detail,
    )
    conn.execute(made)
    if field_id is not None:
        touch(conn, field_id=field_id)


def entries(conn: Connection, account_id: int, before: int | None = None) -> list[Entry]:
    """List the changes in an account, the latest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    before
        Only those with a smaller number: the next page.
    """
    query = (
        select(audit, person.c.name.label("who"), field.c.name.label("field_name"))
        .outerjoin(person, person.c.id == audit.c.person_id)
        .outerjoin(field, field.c.id == audit.c.field_id)
        .where(audit.c.account_id == account_id)
        .order_by(audit.c.id.desc())
        .limit(MOST_LISTED)
    )
    if before is not None:
        query = query.where(audit.c.id < before)
    return [
        Entry(
            row.id,
            row.at,
            row.who or "",
            row.way,
            row.what,
            row.field_id,
            row.field_name or "",
            row.detail or {},
        )
        for row in conn.execute(query)
    ]
