"""Facts of one night become notes: one message per person, the most urgent field first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from rootbound_rules.tables import cite
from rootbound_service.links import NOTE_MARK, STOP_MARK
from rootbound_service.notes.advice import actions_of, lookalike_of
from rootbound_service.notes.charts import note_chart
from rootbound_service.notes.envelope import enclose
from rootbound_service.notes.keys import note_mark
from rootbound_service.notes.letter import Letter
from rootbound_service.notes.order import urgency
from rootbound_service.notes.speech import say, speaking
from rootbound_service.notes.views import FieldView, action_view, field_view, lookalike_line
from rootbound_service.notes.weight import first_that_fits
from rootbound_service.records import OutboxMessage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_rules.risk.action_rows import Action
    from rootbound_rules.risk.lookalikes import Lookalike
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Contact, Person


class Cut(NamedTuple):
    """How many fields are told in full, with a picture, and as a line; the others are counted."""

    cards: int
    pictures: int
    lines: int


CUTS = (Cut(3, 2, 12), Cut(3, 2, 6), Cut(3, 1, 6), Cut(2, 1, 6), Cut(1, 1, 6))
"""The first that keeps a letter whole in mail programs holds, the last in any case."""


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


def compose_note(
    person: Person,
    notes: Sequence[FieldNote],
    occasion: Occasion,
    contact: Contact | None = None,
) -> OutboxMessage:
    """Write the letter of one person and night.

    Parameters
    ----------
    person
        Whom it is for; language, units and role shape the words.
    notes
        At least one field; any order.
    occasion
        The night.
    contact
        The way it goes; None: to the person's own e-mail.

    Raises
    ------
    ValueError
        If there is no note to tell.
    """
    if not notes:
        raise ValueError(f"no note for person {person.id}; a message needs at least one field")
    ordered = sorted(notes, key=lambda note: urgency(note.facts))
    with speaking(person.language):
        letter, images = first_that_fits(
            "note", CUTS, lambda cut: _told(person, ordered, occasion, cut)
        )
        mark = note_mark(person, ordered, contact)
        return enclose("note", person, letter, images, occasion, mark, contact)


def _told(
    person: Person, notes: Sequence[FieldNote], occasion: Occasion, cut: Cut
) -> tuple[Letter, dict[str, bytes]]:
    """Tell so many fields, with their pictures."""
    images = _pictures([note.facts for note in notes[: cut.pictures]], person)
    return _letter(person, notes, images, occasion, cut), images


def _letter(
    person: Person,
    notes: Sequence[FieldNote],
    images: dict[str, bytes],
    occasion: Occasion,
    cut: Cut,
) -> Letter:
    """Put the words of all fields together."""
    fields, units = [note.facts for note in notes], person.units
    advice = [
        (actions_of(note.facts, irrigated=note.irrigated), lookalike_of(note.facts))
        for note in notes[: cut.cards]
    ]
    rows = [row for actions, alike in advice for row in (*actions, alike) if row is not None]
    sources = tuple(dict.fromkeys(key for row in rows for key in row.source))
    cards = [
        _card(facts, person, row, sources, images, occasion)
        for facts, row in zip(fields, advice, strict=False)
    ]
    rest = fields[cut.cards : cut.cards + cut.lines]
    return Letter(
        subject=say.note_subject(fields, units),
        headline=say.note_headline(fields, units),
        summary=say.others_line(len(fields) - 1),
        preview=f"{cards[0].change} {cards[0].cause}",
        dateline=say.night_line(fields[0].night, units),
        leaving=say.leaving_line(person, "note", linked=occasion.linked),
        reason=say.reason_line(person, "note"),
        show_grower=person.role == "adviser",
        cards=tuple(cards),
        lines=tuple(field_view(facts, units, occasion.members) for facts in rest),
        more=max(len(fields) - cut.cards - cut.lines, 0),
        sources=tuple((number, cite(key)) for number, key in enumerate(sources, 1)),
        stop_url=STOP_MARK if occasion.linked else "",
        note_url=NOTE_MARK if occasion.linked else "",
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
    picture = (name, say.chart_alt(facts, person.units)) if name in images else ("", "")
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
