"""Which contact hears of which field tonight, or why not. Pure functions of values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Literal

from rootbound_service.records import Contact
from rootbound_service.telling.book import Book
from rootbound_service.telling.quiet import next_open

MOST_TEXTS = 2
"""Texts in seven days; from failing on there is no limit."""
FAILING, SHORT = 4, 3
SAYS_LITTLE = 1
"""A field without an answer is told to whoever wants to hear of this rung."""


class Left(StrEnum):
    """Why a contact does not hear of a field."""

    SILENT = "silent_about_the_field"
    OTHER_FIELDS = "wants_other_fields"
    BELOW = "below_the_rung_wanted"
    NO_NOTES = "wants_no_notes"
    STOPPED = "stopped"
    NOT_AGREED = "no_consent"


@dataclass(frozen=True, slots=True)
class Told:
    """How a contact's message of tonight goes out."""

    available_at: datetime
    """Aware UTC; never within quiet hours."""
    status: Literal["pending", "folded"]


def left_out(
    book: Book, contact: Contact, field_id: int, rung: int | None, before: int | None
) -> Left | None:
    """Tell why a contact does not hear of a field; None: it does.

    Whoever was told of a rung hears that the field has eased from it, however low it is now.

    Parameters
    ----------
    book
        What is known of everybody.
    contact
        The way somebody would hear.
    field_id
        The field.
    rung
        Where it stands tonight; None: it has no answer. [0-4]
    before
        What was last said of it; None: nothing. [0-4]
    """
    stopped = book.stopped.get(contact.id, frozenset())
    if "all" in stopped or "note" in stopped:
        return Left.STOPPED
    if contact.channel == "text" and contact.id not in book.agreed:
        return Left.NOT_AGREED
    if not contact.notes:
        return Left.NO_NOTES
    if contact.field_ids and field_id not in contact.field_ids:
        return Left.OTHER_FIELDS
    if field_id in book.silent.get(contact.person_id, {}):
        return Left.SILENT
    highest = max(SAYS_LITTLE if rung is None else rung, before or 0)
    return Left.BELOW if highest < contact.least_rung else None


def told(
    book: Book,
    contact: Contact,
    worst: int | None,
    zone: str,
    now: datetime,
    *,
    anew: bool = False,
) -> Told:
    """Decide when a contact's message goes, and whether it goes at all.

    Parameters
    ----------
    book
        What is known of everybody.
    contact
        The way it goes.
    worst
        The highest rung it tells of; None: no field in it has one. [0-4]
    zone
        The reader's time zone.
    now
        The time, aware.
    anew
        Whether it takes the place of what this night has written and nobody has sent yet.
    """
    due, earlier = next_open(now, zone), book.earlier.get(contact.id)
    again = earlier is not None and (bool(earlier.gone) or not anew)
    if again and (worst is None or worst < SHORT):
        due = next_open(due + timedelta(hours=24), zone)  # one message a morning
    texts = book.texts.get(contact.id, 0) - (earlier.pending if earlier and anew else 0)
    full = contact.channel == "text" and texts >= MOST_TEXTS
    return Told(due, "folded" if full and worst != FAILING else "pending")
