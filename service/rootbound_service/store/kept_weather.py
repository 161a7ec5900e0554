"""Past years of weather that notes rest on: each once, under its fingerprint."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import kept_weather
from rootbound_service.store.slices import slices


def keep(conn: Connection, fingerprint: str, packed: bytes, now: datetime) -> bool:
    """Keep some past years; those that are kept already stay as they are.

    Parameters
    ----------
    conn
        The caller's transaction.
    fingerprint
        Of the days packed.
    packed
        The days.
    now
        The time.

    Returns
    -------
    bool
        Whether they were new.
    """
    values: dict[str, object] = {"fingerprint": fingerprint, "kept_at": now, "packed": packed}
    new = insert_into(conn, kept_weather).values(values)
    new = new.on_conflict_do_nothing(index_elements=["fingerprint"])
    return conn.scalar(new.returning(kept_weather.c.fingerprint)) is not None


def kept_among(conn: Connection, fingerprints: Iterable[str]) -> set[str]:
    """Give those of some fingerprints whose past years are kept.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    fingerprints
        Any number.
    """
    own = kept_weather.c.fingerprint
    return {
        one
        for some in slices(fingerprints)
        for one in conn.scalars(select(own).where(own.in_(some)))
    }


def load(conn: Connection, fingerprint: str) -> bytes | None:
    """Give kept past years.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    fingerprint
        As the evidence names it.

    Returns
    -------
    bytes or None
        None where they were never kept.
    """
    query = select(kept_weather.c.packed).where(kept_weather.c.fingerprint == fingerprint)
    found = conn.scalar(query)
    return None if found is None else bytes(found)
