"""What is known of everybody who may be told something tonight, read once, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, func, select

from rootbound_service.records import Contact, Scope
from rootbound_service.store.contacts import consents, contacts_of
from rootbound_service.store.people import list_people
from rootbound_service.store.schema import outbox
from rootbound_service.store.silences import silences_of
from rootbound_service.store.suppressions import address_hash, suppressed_of
from rootbound_service.store.taken_back import messages_of_night
from rootbound_service.telling.again import Earlier
from rootbound_service.telling.quiet import next_open

WEEK = timedelta(days=7)
LAST_ZONE = ZoneInfo("Etc/GMT+12")
"""Where a day ends last: whoever is silent there may be silent anywhere."""
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
    earlier: Mapping[int, Earlier] = field(default_factory=dict[int, Earlier])
    """What this night has written already, by contact."""


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
    silent = silences_of(conn, people, now.astimezone(LAST_ZONE).date())
    return Book(
        contacts={one: tuple(found) for one, found in contacts.items()},
        stopped={one: stopped[hashes[one]] for one in hashes},
        agreed=frozenset(consents(conn, hashes)),
        silent={one: _still(found, people[one].time_zone, now) for one, found in silent.items()},
        texts=_texts(conn, now),
        earlier=_earlier(conn, night),
    )


def _still(found: Mapping[int, date], zone: str, now: datetime) -> dict[int, date]:
    """Silences that hold on the day on which the reader would hear."""
    hears = next_open(now, zone).astimezone(ZoneInfo(zone or "UTC")).date()
    return {one: until for one, until in found.items() if until >= hears}


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


def _earlier(conn: Connection, night: date) -> dict[int, Earlier]:
    """What earlier runs of the night have written, by contact."""
    found: dict[int, Earlier] = {}
    for one in messages_of_night(conn, night):
        had = found.get(one.contact_id, Earlier())
        if one.waits:
            had = Earlier(
                ids=(*had.ids, one.id),
                pending=had.pending + one.pending,
                waiting={**had.waiting, **one.notes},
                gone=had.gone,
            )
        else:
            had = replace(had, gone=had.gone | one.notes.keys())
        found[one.contact_id] = had
    return found
