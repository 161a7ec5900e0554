"""A way to reach somebody, put on record or changed: the same rules for a command and a page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.contacts import DAYS, Wishes, read_wishes
from rootbound_service.records import Contact, OutboxMessage, Scope
from rootbound_service.store.contacts import consents, find_contacts, put_contact
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.suppressions import suppressed

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import ConsentEvent, Person

NO_CONSENT = Problem("consent", "a number needs consent", "give the words they agreed to")


@dataclass(frozen=True, slots=True)
class Put:
    """A way as it is now on record."""

    way: Contact
    new: bool
    stopped: frozenset[Scope]
    """What its address gets no more, whatever is wanted."""


def put_way(
    conn: Connection,
    person: Person,
    given: Mapping[str, object],
    field_ids: tuple[int, ...] | None,
    consent: ConsentEvent | None,
    now: dt.datetime,
) -> Put:
    """Add a way or change what is wanted by it; a new number gets its first text.

    Parameters
    ----------
    conn
        The caller's transaction.
    person
        Whose.
    given
        As for ``read_wishes``; what is not given stays as it was.
    field_ids
        The only fields it hears of; empty: all; None: as it was.
    consent
        What they agreed to; None: nothing new was agreed.
    now
        The time, aware.

    Raises
    ------
    RefusedInput
        If something is wrong, or a number has no consent.
    """
    first = read_wishes(given)
    known = _known(conn, person, first)
    wishes = first if known is None else read_wishes(as_given(known) | dict(given))
    if wishes.channel == "text" and not consent and not (known and consents(conn, [known.id])):
        raise RefusedInput((NO_CONSENT,))
    if field_ids is None:
        field_ids = known.field_ids if known else ()
    way = Contact(
        person.id, wishes.channel, wishes.address, wishes.notes, wishes.least_rung,
        wishes.digest_day, field_ids,
    )  # fmt: skip
    stored = put_contact(conn, way, consent)
    stopped = suppressed(conn, way.channel, way.address)
    if wishes.channel == "text" and known is None and not stopped:
        enqueue(conn, [_welcome(person, stored, now)])
    return Put(stored, known is None, stopped)


def as_given(way: Contact) -> dict[str, object]:
    """Give a way on record as somebody would give it.

    Parameters
    ----------
    way
        The way.
    """
    given: dict[str, object] = {"from_rung": way.least_rung, "notes": way.notes}
    if way.channel == "email":
        given["digest"] = "never" if way.digest_day is None else DAYS[way.digest_day]
    return given


def _known(conn: Connection, person: Person, wishes: Wishes) -> Contact | None:
    """The way as it is on record."""
    ways = find_contacts(conn, wishes.channel, wishes.address)
    return next((one for one in ways if one.person_id == person.id), None)


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
