"""A letter that came in: a bounce, a wish to stop, or an answer in words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage
from email.utils import parseaddr
from hashlib import sha256
from typing import TYPE_CHECKING, Literal, cast

from sqlalchemy import select, update

from rootbound_service.channels.bounce_address import message_of
from rootbound_service.channels.bounces import BACK_DAYS, MOST_SOFT, Bounce, read_bounce
from rootbound_service.links import SCOPES, BadToken, Links
from rootbound_service.records import Scope
from rootbound_service.replies.act import Heard, respond
from rootbound_service.replies.mail_answer import answer_message
from rootbound_service.replies.understand import Understood, understand
from rootbound_service.store.contacts import contacts_of, find_contacts
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.portable import insert_into
from rootbound_service.store.receipts import add_receipt, failures_of
from rootbound_service.store.schema import contact as contact_table
from rootbound_service.store.schema import inbound, outbox
from rootbound_service.store.suppressions import address_hash, suppress
from rootbound_service.telling.stopping import stop

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Contact

What = Literal["bounce", "stopped", "answered", "machine", "stranger", "told_before"]
_STOP_SUBJECT = re.compile(r"stop-([\w.-]+)", re.IGNORECASE)
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
    to = mail.to or parseaddr(str(parsed.get("To", "")))[1]
    if (bounce := read_bounce(parsed)) is not None:
        _bounced(conn, bounce, message_of(to, links.secret), mail.at)
        return "bounce"
    if str(parsed.get("Auto-Submitted", "no")).strip().lower() != "no":
        return "machine"
    if (scope := _by_token(conn, parsed, links, mail.at)) is not None:
        return scope
    sender = parseaddr(str(parsed.get("From", "")))[1]
    found = find_contacts(conn, "email", sender)
    if not found:
        return "stranger"
    return _answered(conn, parsed, found[0], mail, ask)


def _bounced(conn: Connection, bounce: Bounce, message_id: int | None, now: datetime) -> None:
    """Keep a bounce with the letter it is about, and stop what cannot arrive."""
    row = None
    if message_id is not None:
        row = conn.execute(select(outbox).where(outbox.c.id == message_id)).one_or_none()
    if row is None:
        return
    add_receipt(conn, row.id, now, bounce.state, bounce.status or None, bounce.said)
    dead = bounce.follows == "suppress"
    if bounce.follows == "count" and row.contact_id is not None:
        dead = failures_of(conn, row.contact_id, now, timedelta(days=BACK_DAYS)) >= MOST_SOFT
    if dead:
        suppress(conn, "email", row.to_address, "all", f"bounce {bounce.status}", now)


def _by_token(conn: Connection, parsed: EmailMessage, links: Links, now: datetime) -> What | None:
    """Stop what the subject of a mailto link names; None where it names nothing."""
    found = _STOP_SUBJECT.search(str(parsed.get("Subject", "")))
    if found is None:
        return None
    try:
        contact_id, place = links.read("stop", found[1])
    except (BadToken, ValueError):
        return None
    contacts = contacts_of(conn, contact_table.c.id == contact_id)
    if not contacts or place >= len(SCOPES):
        return None
    scope = cast("Scope", SCOPES[place])
    stop(conn, contacts[0], scope, "email", "stop by the link of a letter", now)
    return "stopped"


def _answered(
    conn: Connection, parsed: EmailMessage, contact: Contact, mail: MailIn, ask: str
) -> What:
    """Act upon the first line of an answer."""
    line = first_line(parsed) or str(parsed.get("Subject", ""))
    meant = understand(line)
    name = str(parsed.get("Message-ID", "")).strip() or sha256(mail.raw).hexdigest()
    number = _keep(conn, contact, line, meant, name, mail.at)
    if number is None:
        return "told_before"
    scope: Scope = "all"
    heard = Heard(contact, "email", line, f"email-{number}", mail.at, scope, ask)
    answer = respond(conn, heard, meant)
    conn.execute(update(inbound).where(inbound.c.id == number).values(answer=answer))
    enqueue(conn, [answer_message(contact, parsed, answer, number, mail.at)])
    return "stopped" if meant.meaning == "stop" else "answered"


def first_line(parsed: EmailMessage) -> str:
    """Return the first line that somebody wrote: no quotation, no greeting line of one.

    Parameters
    ----------
    parsed
        The letter.
    """
    body = parsed.get_body(("plain",))
    if body is None:
        return ""
    for line in str(body.get_content()).splitlines():
        text = line.strip()
        if text and not text.startswith((">", "--")) and not text.endswith(("wrote:", "schrieb:")):
            return text[:300]
    return ""


def _keep(
    conn: Connection, contact: Contact, line: str, meant: Understood, name: str, now: datetime
) -> int | None:
    """Keep what came; None where it was told before."""
    values = {
        "channel": "email",
        "provider_id": name,
        "received_at": now,
        "contact_id": contact.id,
        "address_hash": address_hash("email", contact.address),
        "body": line,
        "meaning": meant.meaning,
        "answer": "",
    }
    new = insert_into(conn, inbound).values(values)
    new = new.on_conflict_do_nothing(index_elements=["channel", "provider_id"])
    number: int | None = conn.scalar(new.returning(inbound.c.id))
    return number
