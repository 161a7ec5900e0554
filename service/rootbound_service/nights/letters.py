"""Words the night's notes: one message for each contact of a person who has something to hear."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.operator import in_short
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.texting import compose_text
from rootbound_service.telling.again import what_now
from rootbound_service.telling.quiet import next_open
from rootbound_service.telling.recipients import left_out, told

if TYPE_CHECKING:
    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import Contact, OutboxMessage, Person
    from rootbound_service.telling.book import Book

URGENT, DAY = 2, timedelta(days=1)
"""Priority from which a second message on one morning is right: of short and failing."""


@dataclass(frozen=True, slots=True)
class Letters:
    """The messages of a night, and what could not be worded."""

    messages: tuple[OutboxMessage, ...]
    failures: tuple[str, ...] = ()
    """A sentence for the operator for each message that could not be written."""
    anew: tuple[int, ...] = ()
    """Waiting messages of an earlier run of the night that these take the place of."""


@dataclass(frozen=True, slots=True)
class Heard:
    """One field's note, and who may be told of it."""

    people: tuple[Person, ...]
    note: FieldNote
    members: int
    """Past summers in the field's outlook."""


@dataclass(frozen=True, slots=True)
class _Mail:
    """What there is to tell one person tonight."""

    person: Person
    notes: list[FieldNote]


def write_letters(
    decided: Sequence[Decided], now: datetime, book: Book, *, linked: bool = False
) -> Letters:
    """Word the notes of a night that nobody was told yet.

    Parameters
    ----------
    decided
        Every field of the night.
    now
        The moment of the decision, aware UTC.
    book
        Everybody's contacts and wishes, and what this night has written already.
    linked
        Whether there is a web address for links.
    """
    heard, failures = heard_of(decided)
    unanswered = {one.risk.season_id for one in decided if one.risk.status == "unknown"}
    return word(heard, failures, unanswered, now, book, linked=linked)


def word(
    heard: Sequence[Heard],
    failures: Sequence[str],
    unanswered: Collection[int],
    now: datetime,
    book: Book,
    *,
    linked: bool = False,
) -> Letters:
    """Word what there is to hear.

    Parameters
    ----------
    heard, failures
        From :func:`heard_of`.
    unanswered
        Seasons of which nothing can be said tonight.
    now, book, linked
        As for :func:`write_letters`.
    """
    wrong, mails = list(failures), _mails(heard)
    members = max((one.members for one in heard), default=0)
    occasion = Occasion(now=now, members=members, linked=linked)
    messages: list[OutboxMessage] = []
    anew: list[int] = []
    for contact in (one for ways in book.contacts.values() for one in ways):
        mail = mails.get(contact.person_id)
        own = [one for one in mail.notes if _hears(book, contact, one)] if mail else []
        earlier = book.earlier.get(contact.id)
        then = what_now(earlier, {one.key for one in own}, unanswered)
        mine = [one for one in own if one.key in then.keys]
        try:
            if mail and mine:
                one = _message(mail.person, contact, mine, occasion, book, anew=then.anew)
                messages.append(one)
            anew += earlier.ids if earlier and then.anew else ()
        except Exception as error:  # noqa: BLE001  one letter never stops the others
            names = ", ".join(note.facts.field_name for note in mine)
            what = f"the note to person {contact.person_id} about {names} could not be written"
            wrong.append(f"{what}: {in_short(error)}")
    return Letters(tuple(messages), tuple(wrong), tuple(anew))


def put_off(letters: Letters, book: Book, gone: Collection[int]) -> tuple[OutboxMessage, ...]:
    """Give the messages as they are to go, once it is known what could be taken back.

    Parameters
    ----------
    letters
        From :func:`write_letters`.
    book
        The same as there.
    gone
        Messages of an earlier run that were taken back. Where one had just been sent, what was
        to take its place waits a day, unless it is bad.
    """
    missed = set(letters.anew) - set(gone)
    late = {number for number, one in book.earlier.items() if missed & set(one.ids)}
    return tuple(
        later(one) if one.contact_id in late and one.priority > URGENT else one
        for one in letters.messages
    )


def later(message: OutboxMessage) -> OutboxMessage:
    """Put a message off by a day.

    Parameters
    ----------
    message
        As written.
    """
    due = next_open(message.available_at + DAY, message.quiet_zone)
    ends = message.not_after and message.not_after + (due - message.available_at)
    return replace(message, available_at=due, not_after=ends)


def heard_of(decided: Iterable[Decided]) -> tuple[list[Heard], list[str]]:
    """Give tonight's notes with what a letter shows of each field.

    Parameters
    ----------
    decided
        Fields of the night.

    Returns
    -------
    tuple
        The notes, and a sentence for the operator for each that could not be put in words.
    """
    found: list[Heard] = []
    failures: list[str] = []
    for one in decided:
        if one.note is None:
            continue
        field, assessment = one.computed.field, one.computed.assessment
        try:
            facts = facts_of(one, one.said_before)
        except Exception as error:  # noqa: BLE001  one field never stops the others
            failures.append(f"{field.name}: its note could not be written: {in_short(error)}")
            continue
        note = FieldNote(facts, one.note.dedupe_key, field.season_id, field.irrigated)
        found.append(Heard(field.people, note, assessment.members if assessment else 0))
    return found, failures


def _mails(heard: Iterable[Heard]) -> dict[int, _Mail]:
    """Tonight's notes by person."""
    found: dict[int, _Mail] = {}
    for one in heard:
        for person in one.people:
            found.setdefault(person.id, _Mail(person, [])).notes.append(one.note)
    return found


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
    mine = [note for note in notes if _hears(book, contact, note)]
    return (_message(person, contact, mine, occasion, book),) if mine else ()


def _hears(book: Book, contact: Contact, note: FieldNote) -> bool:
    """Tell whether a contact hears of a field."""
    facts = note.facts
    return left_out(book, contact, facts.field_id, facts.rung, facts.previous_rung) is None


def _message(
    person: Person,
    contact: Contact,
    notes: list[FieldNote],
    occasion: Occasion,
    book: Book,
    *,
    anew: bool = False,
) -> OutboxMessage:
    """Word a contact's message."""
    worst = max((one.facts.rung for one in notes if one.facts.rung is not None), default=None)
    how = told(book, contact, worst, person.time_zone, occasion.now, anew=anew)
    then = replace(occasion, available_at=how.available_at)
    if contact.channel == "text":
        return replace(compose_text(person, contact, notes, then), status=how.status)
    message = replace(_write(person, notes, then, contact), status=how.status)
    if contact.address.casefold() == person.email.casefold():
        return message
    # a second address of theirs is another reader: its message has a name of its own
    return replace(message, dedupe_key=f"{message.dedupe_key}-{contact.id}")


def _write(
    person: Person, notes: list[FieldNote], occasion: Occasion, contact: Contact
) -> OutboxMessage:
    """One letter; where a picture cannot be drawn the words go without."""
    try:
        return compose_note(person, notes, occasion, contact)
    except Exception:  # noqa: BLE001  the words matter more than the picture
        bare = [replace(note, facts=replace(note.facts, series=None)) for note in notes]
        return compose_note(person, bare, occasion, contact)
