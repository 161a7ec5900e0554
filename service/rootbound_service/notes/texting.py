"""Facts of one night become a text: one part where that is enough, never more than two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service import gsm
from rootbound_service.notes.keys import note_keys, note_mark
from rootbound_service.notes.order import urgency
from rootbound_service.notes.speech import say, speaking
from rootbound_service.records import OutboxMessage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.compose import FieldNote
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.records import Contact, Person


def compose_text(
    person: Person, contact: Contact, notes: Sequence[FieldNote], occasion: Occasion
) -> OutboxMessage:
    """Write the text of one person and night.

    Parameters
    ----------
    person
        Whom it is for.
    contact
        Their number.
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
        raise ValueError(f"no note for person {person.id}; a text needs at least one field")
    ordered = sorted(notes, key=lambda note: urgency(note.facts))
    fields = [note.facts for note in ordered]
    with speaking(person.language):
        must, may = say.text_parts(fields, person.units)
        ends = (say.ANSWER, say.STOP)
    mark = note_mark(person, ordered, contact)
    return OutboxMessage(
        dedupe_key=mark.dedupe_key,
        kind="note",
        channel="text",
        person_id=person.id or None,
        to_address=contact.address,
        to_name=person.name,
        subject="",
        text=fitted(must, may, ends),
        html="",
        images={},
        created_at=occasion.now,
        available_at=occasion.due,
        not_after=occasion.due + mark.life,
        priority=mark.priority,
        thread_key=mark.thread_key,
        note_keys=note_keys(ordered),
        contact_id=contact.id or None,
        quiet_zone=person.time_zone,
    )


def fitted(must: str, may: Sequence[str], ends: Sequence[str], room: int = gsm.SINGLE) -> str:
    """Join what fits into one part, in the order it was given; what must be said always is.

    Parameters
    ----------
    must
        Said in any case; where it alone is longer, the text takes two parts and the rest fills
        the second.
    may
        Said as far as there is room, the most useful first.
    ends
        Said at the end, as far as there is room, the last one before the others.
    room
        Septets of one part.
    """
    told, tail = [gsm.plain(must)], [gsm.plain(one) for one in ends]
    if gsm.size(told[0]).units + gsm.size(tail[-1]).units + 1 > room:
        room = 2 * gsm.JOINED
    kept = tail[-1:]
    for one in (*map(gsm.plain, may[:2]), *tail[:-1], *map(gsm.plain, may[2:])):
        middle = [*told[1:], one] if one not in tail else told[1:]
        end = [one, *kept] if one in tail else kept
        if gsm.size(" ".join([told[0], *middle, *end])).units <= room:
            told, kept = [told[0], *middle], end
    return " ".join([*told, *kept])
