"""Letters of ours that others speak of: found by the names in their headers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import select

from rootbound_service.channels.email import letter_name
from rootbound_service.records import MessageKind
from rootbound_service.store.schema import outbox

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import ColumnElement, Connection

_NAMED = re.compile(r"<([0-9a-f]{32})\.email@")
BACK = timedelta(days=60)
"""Who answers a letter that is older is answered as if it were none."""


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter of ours."""

    id: int
    contact_id: int | None
    kind: MessageKind
    to_address: str
    text: str


def letter_by_number(conn: Connection, number: int) -> Letter | None:
    """Give a letter by its number in the outbox; None where there is none.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    number
        As a return path tells it.
    """
    return _one(conn, outbox.c.id == number)


def letter_named(
    conn: Connection, named: str, now: datetime, contact_ids: Iterable[int] | None = None
) -> Letter | None:
    """Give the latest letter that some headers name: only who had it knows its name.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    named
        Message-IDs, such as of In-Reply-To and References.
    now
        The time, aware.
    contact_ids
        Only letters to these; None: to anybody.
    """
    names = set(_NAMED.findall(named))
    if not names:
        return None
    query = select(outbox.c.id, outbox.c.dedupe_key).where(
        outbox.c.channel == "email", outbox.c.created_at > now - BACK
    )
    if contact_ids is not None:
        query = query.where(outbox.c.contact_id.in_(list(contact_ids)))
    found = [row.id for row in conn.execute(query) if letter_name(row.dedupe_key) in names]
    return _one(conn, outbox.c.id == max(found)) if found else None


def _one(conn: Connection, where: ColumnElement[bool]) -> Letter | None:
    o = outbox.c
    query = select(o.id, o.contact_id, o.kind, o.to_address, o.text)
    row = conn.execute(query.where(where, o.channel == "email")).one_or_none()
    return None if row is None else Letter(*row)
