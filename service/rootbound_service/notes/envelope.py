"""What every message to a person has in common, put around a letter."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import TYPE_CHECKING, Literal, NamedTuple

from rootbound_service.notes.letter import Letter, render
from rootbound_service.notes.occasion import Occasion
from rootbound_service.records import OutboxMessage

if TYPE_CHECKING:
    from rootbound_service.records import Contact, Person


class Postmark(NamedTuple):
    """What tells one message from another, and how urgent it is."""

    dedupe_key: str
    thread_key: str
    priority: int
    life: timedelta
    """For how long it is worth sending."""
    note_keys: tuple[str, ...] = ()


def enclose(
    kind: Literal["note", "digest"],
    person: Person,
    letter: Letter,
    images: Mapping[str, bytes],
    occasion: Occasion,
    mark: Postmark,
    contact: Contact | None = None,
) -> OutboxMessage:
    """Render a letter and address it.

    Parameters
    ----------
    kind
        Which templates render it.
    person
        Whom it is for.
    letter, images
        Its words, and PNG bytes by Content-ID.
    occasion
        The night.
    mark
        Its keys, priority and life.
    contact
        The way it goes; None: to the address on the person's own record.
    """
    html, text = render(kind, letter)
    return OutboxMessage(
        dedupe_key=mark.dedupe_key,
        kind=kind,
        channel="email",
        person_id=person.id or None,
        to_address=person.email if contact is None else contact.address,
        to_name=person.name,
        subject=letter.subject,
        text=text,
        html=html,
        images=dict(images),
        created_at=occasion.now,
        available_at=occasion.due,
        not_after=occasion.due + mark.life,
        priority=mark.priority,
        thread_key=mark.thread_key,
        note_keys=mark.note_keys,
        contact_id=contact.id or None if contact else None,
        quiet_zone=person.time_zone,
    )
