"""What ``rootbound people`` does and shows, in the store's terms."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from rootbound_service.desk.ways import put_way
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.contacts import DAYS
from rootbound_service.records import ConsentEvent, Contact, Scope, Silence
from rootbound_service.store.contacts import consents, contacts_of
from rootbound_service.store.fields import find_field
from rootbound_service.store.people import find_person, list_people
from rootbound_service.store.schema import contact
from rootbound_service.store.silences import MOST_DAYS, put_silence
from rootbound_service.store.suppressions import suppressed

if TYPE_CHECKING:
    from sqlalchemy import Connection


WORDS: dict[str, Scope] = {"all": "all", "notes": "note", "note": "note", "digest": "digest"}


def people_rows(conn: Connection) -> list[tuple[str, ...]]:
    """Give a row for each way each person is reached.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    ways = contacts_of(conn)
    agreed = consents(conn, [one.id for one in ways])
    rows: list[tuple[str, ...]] = []
    for person in list_people(conn):
        for way in (one for one in ways if one.person_id == person.id):
            stopped = suppressed(conn, way.channel, way.address)
            event = agreed.get(way.id)
            rows.append(
                (
                    f"{person.name} #{person.id}",
                    f"{way.channel} {way.address}",
                    _notes(way),
                    "-" if way.digest_day is None else DAYS[way.digest_day],
                    ", ".join(sorted(stopped)) or "-",
                    "none" if event is None else f"{event.kind} {_day(event)}".strip(),
                )
            )
    return rows


def _notes(way: Contact) -> str:
    if not way.notes:
        return "-"
    only = f", {len(way.field_ids)} fields" if way.field_ids else ""
    return f"from {way.least_rung}{only}"


def _day(event: ConsentEvent) -> str:
    return f"{event.at:%Y-%m-%d}" if event.at else ""


def add_contact(
    conn: Connection,
    name: str,
    given: Mapping[str, object],
    fields: Sequence[str] | None,
    consent: str | None,
    now: dt.datetime,
) -> str:
    """Add a way or change what is wanted by it; what was done in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    name
        Of the person.
    given
        As for ``read_wishes``; what is not given stays as it was.
    fields
        Names of the only fields; empty: all; None: as it was.
    consent
        Words they agreed to; None: nothing new was agreed.
    now
        The time, aware.

    Raises
    ------
    RefusedInput
        If something is wrong, or a number has no consent.
    """
    person = find_person(conn, name)
    event = ConsentEvent(0, "given", now, "command", consent, "") if consent else None
    ids = None if fields is None else tuple(find_field(conn, one).id for one in fields)
    put = put_way(conn, person, given, ids, event, now)
    verb = "Added" if put.new else "Changed"
    line = f"{verb}: {person.name} hears by {put.way.channel}, notes {_notes(put.way)}."
    if not put.stopped:
        return line
    what = ", ".join(sorted(put.stopped))
    return f"{line} It was stopped there ({what}); rootbound people start, once they ask for it."


def contacts_named(conn: Connection, name: str) -> list[Contact]:
    """Give all ways a person is reached.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    name
        Of the person.
    """
    return contacts_of(conn, contact.c.person_id == find_person(conn, name).id)


def scope_of(what: str) -> Scope:
    """Read what is to be stopped.

    Parameters
    ----------
    what
        ``all``, ``notes`` or ``digest``.

    Raises
    ------
    RefusedInput
        If it is something else.
    """
    if (found := WORDS.get(what.casefold())) is None:
        raise RefusedInput((Problem("--what", f"{what} is none", "give all, notes or digest"),))
    return found


def silence_field(conn: Connection, name: str, field: str, until: str, now: dt.datetime) -> str:
    """Silence a field for somebody; what was done in a sentence.

    Parameters
    ----------
    conn
        The caller's transaction.
    name, field
        Of the person and the field.
    until
        Last silent day, ``YYYY-MM-DD``.
    now
        The time, aware.

    Raises
    ------
    RefusedInput
        If the day is none, past, or too far away.
    """
    person, found = find_person(conn, name), find_field(conn, field)
    today = now.astimezone(ZoneInfo(person.time_zone)).date()
    try:
        day = dt.date.fromisoformat(until)
    except ValueError:
        day = dt.date.min
    if not today - dt.timedelta(days=1) <= day <= today + dt.timedelta(days=MOST_DAYS):
        last = today + dt.timedelta(days=MOST_DAYS)
        wanted = f"give a day from {today} to {last}, or yesterday to hear of it again"
        raise RefusedInput((Problem("--until", f"{until} does not fit", wanted),))
    put_silence(conn, Silence(person.id, found.id, day, now, "command"))
    if day < today:
        return f"{person.name} hears of {found.name} again."
    return f"{person.name} hears nothing of {found.name} until {day}; the digest still has it."
