"""Words the night's notes: one message for each contact of a person who has something to hear."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import people_of
from rootbound_service.nights.operator import in_short
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.texting import compose_text
from rootbound_service.telling.recipients import left_out, told

if TYPE_CHECKING:
    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import Contact, OutboxMessage, Person
    from rootbound_service.telling.book import Book


@dataclass(frozen=True, slots=True)
class Letters:
    """The messages of a night, and what could not be worded."""

    messages: tuple[OutboxMessage, ...]
    failures: tuple[str, ...] = ()
    """A sentence for the operator for each message that could not be written."""


def write_letters(
    decided: Sequence[Decided],
    now: datetime,
    book: Book,
    told_before: Collection[str] = (),
    *,
    linked: bool = False,
) -> Letters:
    """Word the notes of a night that nobody was told yet.

    Parameters
    ----------
    decided
        Every field of the night.
    now
        The moment of the decision, aware UTC.
    book
        Everybody's contacts and wishes.
    told_before
        Dedupe keys of the notes that an earlier run of this night has told already.
    linked
        Whether there is a web address for links.
    """
    notes: dict[int, tuple[Person, list[FieldNote]]] = {}
    members = 0
    for one in decided:
        if one.note is None or one.note.dedupe_key in told_before:
            continue
        field = one.computed.field
        facts = facts_of(one, one.said_before)
        note = FieldNote(facts, one.note.dedupe_key, field.season_id, field.irrigated)
        if one.computed.assessment is not None:
            members = one.computed.assessment.members
        for person in people_of(field):
            notes.setdefault(person.id, (person, []))[1].append(note)
    occasion = Occasion(now=now, members=members, linked=linked)
    messages: list[OutboxMessage] = []
    failures: list[str] = []
    for person, mine in notes.values():
        for contact in book.contacts.get(person.id, ()):
            try:
                messages += message_to(person, contact, mine, occasion, book)
            except Exception as error:  # noqa: BLE001  one letter never stops the others
                names = ", ".join(note.facts.field_name for note in mine)
                what = f"the note to person {person.id} about {names} could not be written"
                failures.append(f"{what}: {in_short(error)}")
    return Letters(tuple(messages), tuple(failures))


def message_to(
    person: Person, contact: Contact, notes: Sequence[FieldNote], occasion: Occasion, book: Book
) -> tuple[OutboxMessage, ...]:
    """Word what one contact is to hear: one message, or none.

    Parameters
    ----------
    person
        The reader.
    contact
        The way it goes.
    notes
        Everything there is to tell the person tonight.
    occasion
        The night.
    book
        Everybody's contacts and wishes.
    """
    mine = [note for note in notes if not _left_out(book, contact, note)]
    if not mine:
        return ()
    worst = max((one.facts.rung for one in mine if one.facts.rung is not None), default=None)
    how = told(book, contact, worst, person.time_zone, occasion.now)
    then = replace(occasion, available_at=how.available_at)
    if contact.channel == "text":
        message = compose_text(person, contact, mine, then)
    else:
        message = _write(person, mine, then, contact)
    return (replace(message, status=how.status),)


def _left_out(book: Book, contact: Contact, note: FieldNote) -> bool:
    """Tell whether a contact does not hear of a field."""
    facts = note.facts
    return left_out(book, contact, facts.field_id, facts.rung, facts.previous_rung) is not None


def _write(
    person: Person, notes: list[FieldNote], occasion: Occasion, contact: Contact
) -> OutboxMessage:
    """One letter; where a picture cannot be drawn the words go without."""
    try:
        return compose_note(person, notes, occasion, contact)
    except Exception:  # noqa: BLE001  the words matter more than the picture
        bare = [replace(note, facts=replace(note.facts, series=None)) for note in notes]
        return compose_note(person, bare, occasion, contact)
