"""What a form brought once is not brought again: the log remembers its form."""

from __future__ import annotations

from sqlalchemy import Connection, select

from rootbound_service.store.audits import Actor
from rootbound_service.store.schema import audit

LOOKED_AT = 400
"""Latest changes of an account that are looked through: a form is pressed twice within minutes."""


def taken_once(conn: Connection, actor: Actor, what: str, form_id: str) -> int | None:
    """Give the field that a form brought already.

    Parameters
    ----------
    conn
        The caller's transaction.
    actor
        Who sends.
    what
        As it was logged, with ``form`` in its detail.
    form_id
        Of the form; empty: it has none.

    Returns
    -------
    int or None
        None if it comes for the first time.
    """
    if not form_id:
        return None
    query = (
        select(audit.c.field_id, audit.c.detail)
        .where(audit.c.account_id == actor.account_id, audit.c.what == what)
        .order_by(audit.c.id.desc())
        .limit(LOOKED_AT)
    )
    for row in conn.execute(query):
        if row.detail.get("form") == form_id:
            number: int | None = row.field_id
            return number
    return None
