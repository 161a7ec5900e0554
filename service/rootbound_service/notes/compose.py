"""Facts of one night become notes: one message per person, the most urgent field first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_rules.tables import cite
from rootbound_service.notes.advice import actions_of, lookalike_of
from rootbound_service.notes.charts import chart_alt, note_chart
from rootbound_service.notes.en.subjects import note_headline, note_subject
from rootbound_service.notes.envelope import Postmark, enclose
from rootbound_service.notes.letter import Letter
from rootbound_service.notes.occasion import NOTE_LIFE
from rootbound_service.notes.order import urgency
from rootbound_service.notes.units import count, day
from rootbound_service.notes.views import FieldView, action_view, field_view, lookalike_line
from rootbound_service.records import OutboxMessage

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rootbound_rules.risk.action_rows import Action
    from rootbound_rules.risk.lookalikes import Lookalike
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Person

CARDS = 5
"""So many fields are told in full; the others follow as lines."""
LINES = 60


@dataclass(frozen=True, slots=True, eq=False)
class FieldNote:
    """One field's part in a note: its facts and the stored note it comes from.

    ``facts.previous_rung`` is the rung that was last said to the reader.
    """

    facts: FieldFacts
    key: str
    """Dedupe key of the stored note."""
    season_id: int
    irrigated: bool = False


def compose_note_messages(
    told: Iterable[tuple[Person, Sequence[FieldNote]]], occasion: Occasion
) -> tuple[OutboxMessage, ...]:
    """Write one message for each person who has something to be told.

    Parameters
    ----------
    told
        Each person with the notes meant for them; a person without notes gets no message.
    occasion
        The night.

    Returns
    -------
    tuple of OutboxMessage
        Rendered, in the order of the persons.
    """
    return tuple(compose_note(person, notes, occasion) for person, notes in told if notes)


def compose_note(person: Person, notes: Sequence[FieldNote], occasion: Occasion) -> OutboxMessage:
    """Write the message of one person and night.

    Parameters
    ----------
    person
        Whom it is for; units and role shape the words.
    notes
        At least one field; any order.
    occasion
        The night.

    Raises
    ------
    ValueError
        If there is no note to tell.
    """
    if not notes:
        raise ValueError(f"no note for person {person.id}; a message needs at least one field")
    ordered = sorted(notes, key=lambda note: urgency(note.facts))
    fields = [note.facts for note in ordered]
    images = _pictures(fields[:CARDS], person)
    letter = _letter(person, ordered, images, occasion)
    mark = Postmark(
        dedupe_key=_dedupe_key(person, ordered),
        thread_key=f"note-season-{ordered[0].season_id}-person-{person.id}",
        priority=max(1, min(4, 5 - (fields[0].rung or 0))),
        life=NOTE_LIFE,
        note_keys=tuple(note.key for note in ordered),
    )
    return enclose("note", person, letter, images, occasion, mark)


def leaving_line(person: Person, what: str) -> str:
    """Return why the reader gets this and how to stop it."""
    whose = "you advise on these fields" if person.role == "adviser" else "these are your fields"
    return f'You get this {what} because {whose}. To stop, answer with the word "stop".'


def _letter(
    person: Person, notes: Sequence[FieldNote], images: dict[str, bytes], occasion: Occasion
) -> Letter:
    """Put the words of all fields together."""
    fields = [note.facts for note in notes]
    advice = [
        (actions_of(note.facts, irrigated=note.irrigated), lookalike_of(note.facts))
        for note in notes[:CARDS]
    ]
    rows = [row for actions, alike in advice for row in (*actions, alike) if row is not None]
    sources = tuple(dict.fromkeys(key for row in rows for key in row.source))
    cards = [
        _card(facts, person, row, sources, images, occasion)
        for facts, row in zip(fields, advice, strict=False)
    ]
    rest = fields[CARDS : CARDS + LINES]
    headline = note_headline(fields, person.units)
    others = f"{count(len(fields) - 1, 'more field')} changed; the most urgent comes first."
    return Letter(
        subject=note_subject(fields, person.units),
        headline=headline,
        summary=others if len(fields) > 1 else "",
        preview=f"{cards[0].change} {cards[0].cause}",
        dateline=f"Night of {day(fields[0].night, person.units)}, {fields[0].night.year}",
        leaving=leaving_line(person, "note"),
        show_grower=person.role == "adviser",
        cards=tuple(cards),
        lines=tuple(field_view(facts, person.units, occasion.members) for facts in rest),
        more=max(len(fields) - CARDS - LINES, 0),
        sources=tuple((number, cite(key)) for number, key in enumerate(sources, 1)),
    )


def _card(
    facts: FieldFacts,
    person: Person,
    advice: tuple[tuple[Action, ...], Lookalike | None],
    sources: tuple[str, ...],
    images: dict[str, bytes],
    occasion: Occasion,
) -> FieldView:
    """Word one field in full."""
    name = picture_name(facts)
    picture = (name, chart_alt(facts, person.units)) if name in images else ("", "")
    actions, alike = advice
    views = tuple(action_view(action, person.units, sources) for action in actions)
    view = field_view(facts, person.units, occasion.members, views, picture)
    return view if alike is None else replace(view, mistaken=lookalike_line(alike, sources))


def picture_name(facts: FieldFacts) -> str:
    """Content-ID of a field's chart."""
    return f"field-{facts.field_id}-{facts.night}@rootbound"


def _pictures(fields: Sequence[FieldFacts], person: Person) -> dict[str, bytes]:
    """Draw the chart of each field that has a season."""
    return {
        picture_name(facts): note_chart(facts.series, person.units, held=facts.status == "watched")
        for facts in fields
        if facts.series is not None
    }


def _dedupe_key(person: Person, notes: Sequence[FieldNote]) -> str:
    """Key of the message: the same notes to the same person are the same message."""
    together = sha256("\n".join(sorted(note.key for note in notes)).encode()).hexdigest()[:20]
    return f"note-{person.id}-{notes[0].facts.night}-{together}"
