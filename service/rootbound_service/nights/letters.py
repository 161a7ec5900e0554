"""Words the night's notes: one message for each person who has something to be told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import people_of
from rootbound_service.nights.operator import in_short
from rootbound_service.notes.compose import FieldNote, compose_note
from rootbound_service.notes.occasion import Occasion

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import datetime

    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import OutboxMessage, Person


@dataclass(frozen=True, slots=True)
class Letters:
    """The messages of a night, and what could not be worded."""

    messages: tuple[OutboxMessage, ...]
    failures: tuple[str, ...] = ()
    """A sentence for the operator for each message that could not be written."""


def write_letters(
    decided: Sequence[Decided], now: datetime, told_before: Collection[str] = ()
) -> Letters:
    """Word the notes of a night that nobody was told yet.

    Parameters
    ----------
    decided
        Every field of the night.
    now
        The moment of the decision, aware UTC.
    told_before
        Dedupe keys of the notes that an earlier run of this night has told already.
    """
    told: dict[int, tuple[Person, list[FieldNote]]] = {}
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
            told.setdefault(person.id, (person, []))[1].append(note)
    occasion = Occasion(now=now, members=members)
    messages: list[OutboxMessage] = []
    failures: list[str] = []
    for person, notes in told.values():
        try:
            messages.append(_write(person, notes, occasion))
        except Exception as error:  # noqa: BLE001  one letter never stops the others
            names = ", ".join(note.facts.field_name for note in notes)
            what = f"the note to person {person.id} about {names} could not be written"
            failures.append(f"{what}: {in_short(error)}")
    return Letters(tuple(messages), tuple(failures))


def _write(person: Person, notes: list[FieldNote], occasion: Occasion) -> OutboxMessage:
    """One message; where a picture cannot be drawn the words go without."""
    try:
        return compose_note(person, notes, occasion)
    except Exception:  # noqa: BLE001  the words matter more than the picture
        bare = [replace(note, facts=replace(note.facts, series=None)) for note in notes]
        return compose_note(person, bare, occasion)
