"""Stop and start again: the suppression and the consent of one contact, always together."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection

from rootbound_service.links import SCOPES
from rootbound_service.records import ConsentEvent, Contact, Scope
from rootbound_service.store.contacts import add_consent, consents, contacts_of
from rootbound_service.store.schema import contact
from rootbound_service.store.suppressions import lift, suppress

STOPPED = {
    "all": "Stop all messages to this address.",
    "note": "Stop notes to this address.",
    "digest": "Stop the weekly digest to this address.",
}
AGAIN = "Send messages to this address again, as agreed before."


def whom_and_what(conn: Connection, numbers: tuple[int, ...]) -> tuple[Contact, Scope] | None:
    """Tell whom and what the numbers of a stop link name; None where they name nobody.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    numbers
        Of the link's token.
    """
    if len(numbers) != 2 or numbers[1] >= len(SCOPES):  # noqa: PLR2004  (contact and scope)
        return None
    found = contacts_of(conn, contact.c.id == numbers[0])
    return (found[0], SCOPES[numbers[1]]) if found else None


def stop(
    conn: Connection, contact: Contact, scope: Scope, how: str, said: str, now: datetime
) -> None:
    """Stop messages to a contact from this moment on, whatever waits for it.

    Parameters
    ----------
    conn
        The caller's transaction.
    contact
        Whose address it is.
    scope
        What is stopped.
    how
        The way it came: text, email, one-click, page, command.
    said
        What they wrote, if they wrote.
    now
        The time, aware.
    """
    suppress(conn, contact.channel, contact.address, scope, f"stop by {how}", now)
    event = ConsentEvent(contact.id, "withdrawn", now, how, STOPPED[scope], said)
    add_consent(conn, contact.id, event)


def start(conn: Connection, contact: Contact, how: str, said: str, now: datetime) -> bool:
    """Start again, where this contact once agreed to be told.

    Parameters
    ----------
    conn, contact, how, said, now
        As for :func:`stop`.

    Returns
    -------
    bool
        False where no consent is on record: it has to be given first.
    """
    if contact.id not in consents(conn, [contact.id]):
        return False
    lift(conn, contact.channel, contact.address, "all", f"start by {how}", now)
    add_consent(conn, contact.id, ConsentEvent(contact.id, "restored", now, how, AGAIN, said))
    return True
