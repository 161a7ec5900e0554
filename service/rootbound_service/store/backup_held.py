"""Messages of a restored outbox, held until an operator lets them go."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, update

from rootbound_service.store.schema import outbox

WAITED = ("pending", "sending")


def hold_waiting(conn: Connection, taken_at: datetime) -> int:
    """Hold what waited or was being sent when the backup was taken; how many were.

    Each may have gone out since. They count as cut off, so that ``retry_now`` lets them go and
    ``drop_pending`` gives them up.

    Parameters
    ----------
    conn
        The restoring transaction.
    taken_at
        When the backup was taken.
    """
    why = f"held: restored from the backup of {taken_at:%Y-%m-%d %H:%M} UTC, may have gone since"
    change = {"status": "unknown", "last_error": why, "claimed_by": None, "claimed_until": None}
    held = update(outbox).where(outbox.c.status.in_(WAITED)).values(change)
    return conn.execute(held).rowcount
