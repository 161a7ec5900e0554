"""What ``rootbound people`` does and shows, in the store's terms."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.contacts import DAYS, read_wishes
from rootbound_service.records import ConsentEvent, Contact, OutboxMessage, Scope, Silence
from rootbound_service.store.contacts import consents, contacts_of, find_contacts, put_contact
from rootbound_service.store.fields import find_field
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import find_person, list_people
from rootbound_service.store.schema import contact
from rootbound_service.store.silences import MOST_DAYS, put_silence
from rootbound_service.store.suppressions import suppressed

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.intake.contacts import Wishes
    from rootbound_service.records import Person

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
    person, first = find_person(conn, name), read_wishes(given)
    known = _known(conn, person, first)
    wishes = first if known is None else read_wishes(_as_given(known) | dict(given))
    if wishes.channel == "text" and not consent and not (known and consents(conn, [known.id])):
        wanted = 'give the words they agreed to: --consent "..."'
        raise RefusedInput((Problem("--text", "a number needs consent", wanted),))
    event = ConsentEvent(0, "given", now, "command", consent, "") if consent else None
    ids = tuple(find_field(conn, one).id for one in fields or ())
    if fields is None and known:
        ids = known.field_ids
    way = Contact(
        person.id, wishes.channel, wishes.address, wishes.notes, wishes.least_rung,
        wishes.digest_day, ids,
    )  # fmt: skip
    stored = put_contact(conn, way, event)
    stopped = suppressed(conn, way.channel, way.address)
    if wishes.channel == "text" and not known and not stopped:
        enqueue(conn, [_welcome(person, stored, now)])
    verb = "Changed" if known else "Added"
    line = f"{verb}: {person.name} hears by {wishes.channel}, notes {_notes(stored)}."
    if not stopped:
        return line
    what = ", ".join(sorted(stopped))
    return f"{line} It was stopped there ({what}); rootbound people start, once they ask for it."


def _known(conn: Connection, person: Person, wishes: Wishes) -> Contact | None:
    """The way as it is on record."""
    ways = find_contacts(conn, wishes.channel, wishes.address)
    return next((one for one in ways if one.person_id == person.id), None)


def _as_given(way: Contact) -> dict[str, object]:
    """A way on record as somebody would give it."""
    given: dict[str, object] = {"from_rung": way.least_rung, "notes": way.notes}
    if way.channel == "email":
        given["digest"] = "never" if way.digest_day is None else DAYS[way.digest_day]
    return given


def _welcome(person: Person, way: Contact, now: dt.datetime) -> OutboxMessage:
    """The first text: who writes, how often, how to stop; in the day's hours."""
    from rootbound_service import gsm
    from rootbound_service.notes.speech import say, speaking
    from rootbound_service.telling.quiet import next_open

    with speaking(person.language):
        text = gsm.plain(say.welcome_text())
    due = next_open(now, person.time_zone)
    plain = OutboxMessage(
        dedupe_key=f"welcome-{way.id}", kind="answer", channel="text", person_id=person.id,
        to_address=way.address, to_name=person.name, subject="", text=text, html="", images={},
        created_at=now, available_at=due, not_after=due + dt.timedelta(days=2), priority=1,
    )  # fmt: skip
    return replace(plain, contact_id=way.id, quiet_zone=person.time_zone)


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
