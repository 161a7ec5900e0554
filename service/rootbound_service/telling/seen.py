"""An answer that says: I have seen it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, select

from rootbound_service.records import Acknowledgement
from rootbound_service.store.acknowledgements import acknowledge, seasons_told
from rootbound_service.store.schema import outbox


def acknowledge_message(
    conn: Connection, outbox_id: int, now: datetime, how: str
) -> tuple[int, ...]:
    """Keep that its reader has seen a message, and with it what its fields came to.

    What a newer note tells of a field is not seen by that: links of old letters go on working.

    Parameters
    ----------
    conn
        The caller's transaction.
    outbox_id
        The message.
    now
        The time, aware.
    how
        The way it came: text, email, page.

    Returns
    -------
    tuple of int
        The seasons seen; none for a message that is not there, or has been overtaken.
    """
    person_id = conn.scalar(select(outbox.c.person_id).where(outbox.c.id == outbox_id))
    if person_id is None:
        return ()
    seasons = seasons_told(conn, outbox_id, latest=True)
    acknowledge(conn, (Acknowledgement(person_id, one, now, how) for one in seasons))
    return seasons
