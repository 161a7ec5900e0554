"""One person as ``rootbound people show`` tells it: the proof of what they agreed to."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from rootbound_service.intake.contacts import DAYS
from rootbound_service.store.contacts import consents_of, contacts_of
from rootbound_service.store.fields import list_fields
from rootbound_service.store.people import find_person
from rootbound_service.store.schema import contact
from rootbound_service.store.seconds import seconds
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.suppressions import suppressions_of

if TYPE_CHECKING:
    import datetime as dt

    from sqlalchemy import Connection

    from rootbound_service.records import Contact


def person_lines(conn: Connection, name: str, now: dt.datetime) -> list[str]:
    """Give everything that is kept of how a person is told, line by line.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    name
        Of the person.
    now
        The time, aware.
    """
    person = find_person(conn, name)
    names = {one.id: one.name for one in list_fields(conn)}
    today = now.astimezone(ZoneInfo(person.time_zone or "UTC")).date()
    lines = [
        f"{person.name} #{person.id}, {person.role}",
        f"  reads {person.language}, {person.units} units, by the clock of {person.time_zone}",
    ]
    for field_id, until in sorted(silenced_fields(conn, person.id, today).items()):
        lines.append(f"  hears nothing of {names.get(field_id, f'#{field_id}')} until {until}")
    for field_id, who in seconds(conn).items():
        if person.id in who:
            lines.append(f"  is the second contact of {names.get(field_id, f'#{field_id}')}")
    for way in contacts_of(conn, contact.c.person_id == person.id):
        lines += _way_lines(conn, way, names)
    return lines


def _way_lines(conn: Connection, way: Contact, names: dict[int, str]) -> list[str]:
    """One way: what is wanted by it, then everything said and stopped about it."""
    only = ", ".join(names.get(one, f"#{one}") for one in way.field_ids) or "all their fields"
    notes = f"notes from rung {way.least_rung} of {only}" if way.notes else "no notes"
    digest = "no digest" if way.digest_day is None else f"digest on {DAYS[way.digest_day]}"
    lines = [f"{way.channel} {way.address}: {notes}; {digest}"]
    for event in consents_of(conn, way.id):
        said = f'; they wrote "{event.said}"' if event.said else ""
        lines.append(f"  {_at(event.at)} {event.kind} by {event.how}: {event.wording}{said}")
    for row in suppressions_of(conn, way.channel, way.address):
        verb = "open again" if row.lifted else "stopped"
        lines.append(f"  {_at(row.at)} {verb}: {row.scope} ({row.reason})")
    return lines


def _at(moment: dt.datetime | None) -> str:
    return f"{moment:%Y-%m-%d %H:%M} UTC" if moment else "time not kept"
