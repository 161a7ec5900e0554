"""When each part of the service was last seen alive."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import heartbeat


@dataclass(frozen=True, slots=True)
class Beat:
    """One part, when it was last seen, and what it said of itself."""

    at: datetime
    detail: str


def beat(conn: Connection, name: str, now: datetime, detail: str = "") -> None:
    """Say that a part is alive.

    Parameters
    ----------
    conn
        The caller's transaction.
    name
        Of the process and its job.
    now
        The time, aware.
    detail
        What it did, in few words; names nobody.
    """
    values = {"at": now, "detail": detail}
    put = insert_into(conn, heartbeat).values({"name": name} | values)
    conn.execute(put.on_conflict_do_update(index_elements=["name"], set_=values))


def heartbeats(conn: Connection) -> dict[str, Beat]:
    """Give every part by its name.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    return {row.name: Beat(row.at, row.detail) for row in conn.execute(select(heartbeat))}
