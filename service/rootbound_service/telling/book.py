"""What is known of everybody who may be told something tonight, read once, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, func, select

from rootbound_service.records import Contact, Scope
from rootbound_service.store.contacts import consents, contacts_of
from rootbound_service.store.people import list_people
from rootbound_service.store.schema import outbox
from rootbound_service.store.silences import silences_of
from rootbound_service.store.suppressions import address_hash, suppressed_of

WEEK = timedelta(days=7)
LAST_ZONE = ZoneInfo("Etc/GMT+12")
"""Where a day ends last: a silent day is silent to its end, wherever it is."""
COUNTS = ("pending", "sending", "sent", "unknown")
"""Messages that have reached somebody, or may yet."""


@dataclass(frozen=True, slots=True)
class Book:
    """Everybody's contacts and wishes on one night."""

    contacts: Mapping[int, tuple[Contact, ...]]
    """By person."""
    stopped: Mapping[int, frozenset[Scope]] = field(default_factory=dict[int, frozenset[Scope]])
    """What each contact gets no more."""
    agreed: frozenset[int] = frozenset()
    """Contacts with consent on record."""
    silent: Mapping[int, Mapping[int, date]] = field(default_factory=dict[int, Mapping[int, date]])
    """By person: fields they want to hear nothing of, each with the last silent day."""
    texts: Mapping[int, int] = field(default_factory=dict[int, int])
    """Texts of the past seven days, by contact."""
    told_tonight: frozenset[int] = frozenset()
    """Contacts for whom this night has written a message already."""


def load_book(conn: Connection, night: date, now: datetime) -> Book:
    """Read what is known of everybody.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The night.
    now
        The time, aware.
    """
    every = contacts_of(conn)
    people = {one.id: one for one in list_people(conn)}
    hashes = {one.id: address_hash(one.channel, one.address) for one in every}
    stopped = suppressed_of(conn, hashes.values())
    contacts: dict[int, list[Contact]] = {one: [] for one in people}
    for one in every:
        contacts[one.person_id].append(one)
    return Book(
        contacts={one: tuple(found) for one, found in contacts.items()},
        stopped={one: stopped[hashes[one]] for one in hashes},
        agreed=frozenset(consents(conn, hashes)),
        silent=silences_of(conn, people, now.astimezone(LAST_ZONE).date()),
        texts=_texts(conn, now),
        told_tonight=_told(conn, night),
    )


def _texts(conn: Connection, now: datetime) -> dict[int, int]:
    """Count the notes by text of the past seven days."""
    query = (
        select(outbox.c.contact_id, func.count().label("texts"))
        .where(
            outbox.c.channel == "text",
            outbox.c.kind == "note",
            outbox.c.status.in_(COUNTS),
            outbox.c.available_at > now - WEEK,
            outbox.c.contact_id.is_not(None),
        )
        .group_by(outbox.c.contact_id)
    )
    return {row.contact_id: row.texts for row in conn.execute(query)}


def _told(conn: Connection, night: date) -> frozenset[int]:
    """Contacts with a message of this night, by the night in its name."""
    query = select(outbox.c.contact_id).where(
        outbox.c.kind == "note",
        outbox.c.contact_id.is_not(None),
        outbox.c.dedupe_key.contains(f"-{night}-"),
    )
    return frozenset(one for one in conn.scalars(query) if one is not None)
