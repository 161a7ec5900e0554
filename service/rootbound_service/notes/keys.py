"""What names a night's message to a person: the same notes by the same way are the same message."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

from rootbound_service.notes.envelope import Postmark
from rootbound_service.notes.occasion import NOTE_LIFE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.notes.compose import FieldNote
    from rootbound_service.records import Contact, Person


def note_keys(notes: Sequence[FieldNote]) -> tuple[str, ...]:
    """Return the dedupe keys of the notes that a message carries."""
    return tuple(note.key for note in notes)


def note_mark(person: Person, ordered: Sequence[FieldNote], contact: Contact | None) -> Postmark:
    """Return the keys, the urgency and the life of a night's message.

    Parameters
    ----------
    person
        Whom it is for.
    ordered
        Its notes, the most urgent first.
    contact
        The way it goes; None: by e-mail.
    """
    worst = ordered[0].facts
    together = sha256("\n".join(sorted(note_keys(ordered))).encode()).hexdigest()[:20]
    way = "" if contact is None or contact.channel == "email" else f"{contact.channel}-"
    who = f"{person.id}" if contact is None or not way else f"{person.id}-{contact.id}"
    return Postmark(
        dedupe_key=f"note-{way}{who}-{worst.night}-{together}",
        thread_key=f"note-{way}season-{ordered[0].season_id}-person-{person.id}",
        priority=max(1, min(4, 5 - (worst.rung or 0))),
        life=NOTE_LIFE,
        note_keys=note_keys(ordered),
    )
