"""Act upon what somebody means, and say so in one short answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from sqlalchemy import select

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.observations import observation_records
from rootbound_service.intake.observations_keep import keep_typed
from rootbound_service.notes.speech import say, speaking
from rootbound_service.records import Acknowledgement
from rootbound_service.replies.understand import Understood
from rootbound_service.store.acknowledgements import acknowledge, seasons_told
from rootbound_service.store.fields import list_fields
from rootbound_service.store.people import person_with
from rootbound_service.store.schema import outbox
from rootbound_service.telling.seen import acknowledge_message
from rootbound_service.telling.stopping import start, stop

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Contact, FieldRecord, Person, Scope

NOON = time(12)
"""A gauge told of before noon was read that morning: the rain fell on the day before."""


@dataclass(frozen=True, slots=True)
class Heard:
    """Something a person wrote."""

    contact: Contact
    how: str
    """The way it came: text or email."""
    said: str
    name: str
    """Its own name: the same message told twice is kept once."""
    now: datetime
    scope: Scope = "all"
    """What the word "stop" stops."""
    ask: str = ""
    """Whom to ask for help."""


def respond(conn: Connection, heard: Heard, meant: Understood) -> str:
    """Act, and give the answer in the reader's language.

    Parameters
    ----------
    conn
        The caller's transaction.
    heard
        What came, from whom and when.
    meant
        What it means.
    """
    person = person_with(conn, heard.contact.person_id)
    with speaking(person.language):
        if meant.meaning == "stop":
            stop(conn, heard.contact, heard.scope, heard.how, heard.said, heard.now)
            return say.STOPPED_TEXT if heard.how == "text" else say.STOPPED_MAIL
        if meant.meaning == "start":
            again = start(conn, heard.contact, heard.how, heard.said, heard.now)
            return say.STARTED_TEXT if again else say.NO_CONSENT_TEXT
        if meant.meaning == "help":
            return say.help_text(heard.ask)
        if meant.meaning == "seen":
            return _seen(conn, heard, person, meant)
        if meant.meaning in {"rain", "rolled"}:
            return _observe(conn, heard, person, meant)
        return say.UNCLEAR


def fields_of(conn: Connection, person: Person, now: datetime) -> list[FieldRecord]:
    """Give the fields of a person, as grower or adviser.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person
        The person.
    now
        The time: the season planted by then counts.
    """
    today = now.astimezone(ZoneInfo(person.time_zone)).date()
    return [
        one
        for one in list_fields(conn, today)
        if person.id in {who.id for who in one.people} and one.planted <= today
    ]


def last_note(conn: Connection, contact: Contact) -> int | None:
    """Give the last note that was sent to a contact; None: there was none.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact
        Whose.
    """
    mine = (outbox.c.contact_id == contact.id) & (outbox.c.kind == "note")
    sent = select(outbox.c.id).where(mine, outbox.c.sent_at.is_not(None))
    return conn.scalar(sent.order_by(outbox.c.sent_at.desc(), outbox.c.id.desc()).limit(1))


def _seen(conn: Connection, heard: Heard, person: Person, meant: Understood) -> str:
    """Keep that the last note was seen, or what the one field came to that they name."""
    if meant.field is not None:
        mine = fields_of(conn, person, heard.now)
        field = next((one for one in mine if one.id == meant.field), None)
        if field is None:
            return say.which_text([(one.id, one.name) for one in mine], "OK")
        seen = Acknowledgement(person.id, field.season_id, heard.now, heard.how)
        acknowledge(conn, [seen])
        return say.seen_text([field.name])
    note = last_note(conn, heard.contact)
    return say.seen_text(()) if note is None else seen_message(conn, heard, note)


def seen_message(conn: Connection, heard: Heard, message_id: int) -> str:
    """Keep that a message was seen, and name the fields it told of.

    Parameters
    ----------
    conn
        The caller's transaction.
    heard
        What came; its reader's language is spoken.
    message_id
        The message.
    """
    seasons = set(acknowledge_message(conn, message_id, heard.now, heard.how))
    return say.seen_text([one.name for one in list_fields(conn) if one.season_id in seasons])


def _observe(conn: Connection, heard: Heard, person: Person, meant: Understood) -> str:
    """Keep rain of a gauge, or how the leaves look."""
    mine = fields_of(conn, person, heard.now)
    if not mine:
        return say.NO_FIELD
    field = _which(conn, heard, mine, meant)
    if field is None:
        example = f"RAIN {meant.amount}" if meant.meaning == "rain" else "ROLL YES"
        return say.which_text([(one.id, one.name) for one in mine], example)
    there = heard.now.astimezone(ZoneInfo(field.time_zone))
    values: dict[str, object] = {
        "date": there.date(),
        "by": person.name,
        "form_id": heard.name,
        "note": f"by {heard.how}",
    }
    if meant.meaning == "rain":
        own = "in" if person.units == "us" else "mm"
        values["rain"] = meant.amount if meant.amount[-1].isalpha() else f"{meant.amount} {own}"
        values["morning"] = there.time() < NOON
    else:
        values["rolled"] = meant.rolled
    try:
        (kept,) = keep_typed(conn, field.season_id, observation_records(values, field, heard.now))
    except RefusedInput as refused:
        first = refused.problems[0]
        return say.refused_text(f"{first.what}; {first.wanted}.")
    if kept.kind == "rain":
        return say.rain_text(field.name, kept.day, kept.value or 0.0, person.units)
    return say.rolled_text(field.name, kept.day, person.units, rolled=bool(kept.value))


def _which(
    conn: Connection, heard: Heard, mine: list[FieldRecord], meant: Understood
) -> FieldRecord | None:
    """The field meant: the one named, the only one, or the only one of the last note."""
    if meant.field is not None:
        return next((one for one in mine if one.id == meant.field), None)
    if len(mine) == 1:
        return mine[0]
    note = last_note(conn, heard.contact)
    if note is None:
        return None
    told = set(seasons_told(conn, note))
    named = [one for one in mine if one.season_id in told]
    return named[0] if len(named) == 1 else None
