"""A letter that came in: a bounce, a wish to stop, or an answer in words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from email import message_from_bytes, policy
from email.message import EmailMessage
from email.utils import parseaddr
from typing import TYPE_CHECKING, Literal

from rootbound_service.channels.bounce_address import message_of
from rootbound_service.channels.bounces import Bounce, read_bounce
from rootbound_service.links import BadToken, Links
from rootbound_service.replies.bounced import take_bounce
from rootbound_service.replies.kept import Came, keep, name_of
from rootbound_service.replies.letters import Letter, letter_by_number, letter_named
from rootbound_service.replies.machines import header, is_machine
from rootbound_service.replies.mail_act import take_answer
from rootbound_service.store.contacts import find_contacts
from rootbound_service.telling.stopping import stop, whom_and_what

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Contact, Scope

What = Literal["bounce", "stopped", "answered", "machine", "stranger", "told_before"]
_STOP_SUBJECT = re.compile(r"stop-([\w.-]+)", re.IGNORECASE)
_SENT_TO = ("To", "Delivered-To", "X-Original-To", "Envelope-To")
MOST_BYTES = 5_000_000


@dataclass(frozen=True, slots=True)
class MailIn:
    """A letter with what is needed to take it in."""

    raw: bytes
    at: datetime
    """Aware UTC."""
    to: str = ""
    """Address it was sent to, where the mail system says so; else that of its header."""


def take_mail(conn: Connection, mail: MailIn, links: Links, ask: str) -> What:
    """Take in a letter.

    Parameters
    ----------
    conn
        A transaction of its own.
    mail
        What came.
    links
        Reads the tokens of return paths and of subjects.
    ask
        Whom to ask for help.

    Returns
    -------
    str
        What it was; a letter from a machine is never answered (RFC 3834 section 2).
    """
    parsed = message_from_bytes(mail.raw[:MOST_BYTES], policy=policy.default)
    assert isinstance(parsed, EmailMessage)  # noqa: S101  (the policy makes it so)
    name = name_of(parsed, mail.raw)
    if (bounce := read_bounce(parsed)) is not None:
        letter = _came_back(conn, parsed, bounce, mail, links)
        return "machine" if letter is None else _bounced(conn, bounce, letter, name, mail.at)
    # before the machines: a mail program stops for its reader, and says that it is one
    if (wish := _wish(conn, parsed, links)) is not None:
        return _stopped(conn, wish, name, mail.at)
    if is_machine(parsed):
        return "machine"
    found = find_contacts(conn, "email", parseaddr(header(parsed, "From"))[1])
    if not found:
        return "stranger"
    named = f"{header(parsed, 'In-Reply-To')} {header(parsed, 'References')}"
    letter = letter_named(conn, named, mail.at, [one.id for one in found])
    who = next((one for one in found if letter and one.id == letter.contact_id), found[0])
    return take_answer(conn, parsed, who, letter, name, mail.at, ask)


def _came_back(
    conn: Connection, parsed: EmailMessage, bounce: Bounce, mail: MailIn, links: Links
) -> Letter | None:
    """The letter that a bounce is about, by the return path or by the name it gives back."""
    for address in [mail.to, *(parseaddr(header(parsed, one))[1] for one in _SENT_TO)]:
        number = message_of(address, links.secret)
        if number is not None:
            return letter_by_number(conn, number)
    return letter_named(conn, bounce.message_id, mail.at)


def _bounced(conn: Connection, bounce: Bounce, letter: Letter, name: str, now: datetime) -> What:
    """Take a bounce in once."""
    body = f"{bounce.state} {bounce.status}".strip()
    came = Came(name, now, letter.contact_id, letter.to_address, body, "bounce")
    if keep(conn, came) is None:
        return "told_before"
    take_bounce(conn, bounce, letter, now)
    return "bounce"


def _wish(conn: Connection, parsed: EmailMessage, links: Links) -> tuple[Contact, Scope] | None:
    """Whom and what the subject of a mailto link stops; None where it names nothing."""
    found = _STOP_SUBJECT.search(header(parsed, "Subject"))
    if found is None:
        return None
    try:
        return whom_and_what(conn, links.read("stop", found[1]))
    except BadToken:
        return None


def _stopped(conn: Connection, wish: tuple[Contact, Scope], name: str, now: datetime) -> What:
    """Stop what the link of a letter names, once."""
    contact, scope = wish
    if keep(conn, Came(name, now, contact.id, contact.address, f"stop {scope}", "stop")) is None:
        return "told_before"
    stop(conn, contact, scope, "email", "stop by the link of a letter", now)
    return "stopped"
