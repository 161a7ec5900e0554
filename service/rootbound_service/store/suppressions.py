"""Who gets nothing any more: the one authority, and it names nobody."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from sqlalchemy import Connection, insert, select

from rootbound_service.records import Channel, Scope
from rootbound_service.store.schema import suppression
from rootbound_service.store.slices import slices


def address_hash(channel: Channel, address: str) -> str:
    """Name an address without telling it.

    Parameters
    ----------
    channel, address
        Where somebody is reached; capital letters do not matter.
    """
    return sha256(f"{channel}:{address.strip().casefold()}".encode()).hexdigest()


def suppress(
    conn: Connection, channel: Channel, address: str, scope: Scope, reason: str, now: datetime
) -> None:
    """Send nothing of a kind to an address any more.

    Parameters
    ----------
    conn
        The caller's transaction.
    channel, address
        Where somebody is reached.
    scope
        What is stopped.
    reason
        In few words, such as ``stop`` or ``bounce 5.1.1``; names nobody.
    now
        The time, aware.
    """
    _say(conn, channel, address, scope, reason, now, lifted=False)


def lift(
    conn: Connection, channel: Channel, address: str, scope: Scope, reason: str, now: datetime
) -> None:
    """Let messages go to an address again; parameters as for :func:`suppress`."""
    _say(conn, channel, address, scope, reason, now, lifted=True)


def suppressed(conn: Connection, channel: Channel, address: str) -> frozenset[Scope]:
    """Tell what an address gets no more.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    channel, address
        Where somebody is reached.
    """
    return suppressed_of(conn, [address_hash(channel, address)])[address_hash(channel, address)]


def suppressed_of(conn: Connection, hashes: Iterable[str]) -> dict[str, frozenset[Scope]]:
    """Tell what each of several addresses gets no more.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    hashes
        Of the addresses, from :func:`address_hash`.
    """
    asked = set(hashes)
    stands: dict[str, set[Scope]] = {one: set() for one in asked}
    for some in slices(asked):
        query = select(suppression).where(suppression.c.address_hash.in_(some))
        for row in conn.execute(query.order_by(suppression.c.id)):
            scopes = stands[row.address_hash]
            if not row.lifted:
                scopes.add(row.scope)
            elif row.scope == "all":  # whoever starts again starts with everything
                scopes.clear()
            else:
                scopes.discard(row.scope)
    return {one: frozenset(scopes) for one, scopes in stands.items()}


@dataclass(frozen=True, slots=True)
class Suppression:
    """One row of the list."""

    at: datetime
    scope: Scope
    reason: str
    lifted: bool


def suppressions_of(conn: Connection, channel: Channel, address: str) -> list[Suppression]:
    """Give everything that was stopped and let go again at an address, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    channel, address
        Where somebody is reached.
    """
    mine = suppression.c.address_hash == address_hash(channel, address)
    rows = conn.execute(select(suppression).where(mine).order_by(suppression.c.id))
    return [Suppression(row.at, row.scope, row.reason, row.lifted) for row in rows]


def _say(
    conn: Connection,
    channel: Channel,
    address: str,
    scope: Scope,
    reason: str,
    now: datetime,
    *,
    lifted: bool,
) -> None:
    """Add a row; none is ever changed."""
    row = {
        "address_hash": address_hash(channel, address),
        "channel": channel,
        "scope": scope,
        "reason": reason,
        "at": now,
        "lifted": lifted,
    }
    conn.execute(insert(suppression).values(row))
