"""Whether the service stands still, as far as its database can tell."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import Connection, func, select

from rootbound_service.store.schema import heartbeat, outbox, run

LATELY = timedelta(minutes=10)
"""What was begun or leased within this time may still go on."""
ALIVE = timedelta(seconds=90)
"""A worker says that it lives every half minute."""


def still_moving(conn: Connection, now: datetime) -> list[str]:
    """Say what may still be going on in a database, a sentence each; none: it stands still.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    now
        The time.
    """
    said: list[str] = []
    begun = select(run.c.night).where(run.c.finished_at.is_(None), run.c.started_at > now - LATELY)
    said += [f"the night of {night} is being computed" for night in conn.scalars(begun)]
    leased = select(func.count()).where(
        outbox.c.status == "sending", outbox.c.claimed_until > now - LATELY
    )
    if many := conn.scalar(leased):
        said.append(f"{many} {'message is' if many == 1 else 'messages are'} in a sender's hands")
    last = conn.scalar(select(func.max(heartbeat.c.at)).where(heartbeat.c.at <= now))
    if last is not None and now - last < ALIVE:
        said.append(f"a worker was alive {(now - last).total_seconds():.0f} s ago")
    return said
