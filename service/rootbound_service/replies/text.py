"""A text that came in: kept once, understood, acted upon, answered once at the most."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from rootbound_service import gsm
from rootbound_service.channels.text_channel import MOST_PARTS
from rootbound_service.records import OutboxMessage
from rootbound_service.replies.act import Heard, respond
from rootbound_service.replies.kept import (
    A_DAY,
    MOST_ANSWERS,
    Came,
    keep,
    keep_answer,
    was_helped,
)
from rootbound_service.replies.storable import storable
from rootbound_service.replies.understand import Understood, understand
from rootbound_service.store.contacts import find_contacts
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.schema import inbound, outbox
from rootbound_service.store.suppressions import address_hash, suppress, suppressed

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Contact

ANSWER_LIFE = timedelta(hours=1)
"""An answer that comes later answers nothing."""


@dataclass(frozen=True, slots=True)
class TextIn:
    """A text as the gateway told it."""

    number: str
    """As E.164."""
    body: str
    provider_id: str
    at: datetime
    """Aware UTC."""


def take_text(conn: Connection, text: TextIn, ask: str) -> str | None:
    """Take in a text and put its answer in the outbox.

    Parameters
    ----------
    conn
        A transaction of its own.
    text
        What came.
    ask
        Whom to ask for help, as the answer to HELP says.

    Returns
    -------
    str or None
        The answer; None where there is none: told before, from a stranger, or not understood
        for the second time in a day.
    """
    text = replace(text, body=storable(text.body), provider_id=storable(text.provider_id))
    meant = understand(text.body)
    contact = _whose(conn, text.number)
    owner = contact.id if contact else None
    came = Came(
        text.provider_id, text.at, owner, text.number, text.body, meant.meaning, channel="text"
    )
    number = keep(conn, came)
    if number is None:
        return None
    silent = _silent(conn, text, meant)
    answer = _answer(conn, text, contact, meant, number, ask)
    if answer is None or silent:
        return None
    keep_answer(conn, number, answer)
    enqueue(conn, [_message(text, contact, answer, number)])
    return answer


def _answer(
    conn: Connection,
    text: TextIn,
    contact: Contact | None,
    meant: Understood,
    number: int,
    ask: str,
) -> str | None:
    """Act and word the answer."""
    from rootbound_service.notes.speech import say

    if contact is None:  # a stranger is heard in what the law asks for, and nothing else
        if meant.meaning == "stop":
            suppress(conn, "text", text.number, "all", "stop by text", text.at)
            return say.STOPPED_TEXT
        return say.help_text(ask) if meant.meaning == "help" else None
    if meant.meaning == "unclear" and was_helped(conn, contact, text.at):
        return None
    heard = Heard(contact, "text", text.body, f"text-{number}", text.at, ask=ask)
    return respond(conn, heard, meant)


def _silent(conn: Connection, text: TextIn, meant: Understood) -> bool:
    """Whether no answer is to go: nothing follows the word that texts have stopped."""
    hashed = address_hash("text", text.number)
    mine = (inbound.c.address_hash == hashed) & (inbound.c.answer != "")
    lately = select(func.count()).select_from(inbound).where(mine)
    if (conn.scalar(lately.where(inbound.c.received_at > text.at - A_DAY)) or 0) >= MOST_ANSWERS:
        return True
    stopped = "all" in suppressed(conn, "text", text.number)
    return stopped and meant.meaning in {"stop", "unclear"}


def _whose(conn: Connection, number: str) -> Contact | None:
    """The contact of a number; of several, the one last written to."""
    found = find_contacts(conn, "text", number)
    if len(found) < 2:  # noqa: PLR2004  (several)
        return found[0] if found else None
    ids = [one.id for one in found]
    last = select(outbox.c.contact_id).where(outbox.c.contact_id.in_(ids))
    latest = conn.scalar(last.order_by(outbox.c.sent_at.desc().nulls_last()).limit(1))
    return next((one for one in found if one.id == latest), found[0])


def _message(text: TextIn, contact: Contact | None, answer: str, number: int) -> OutboxMessage:
    return OutboxMessage(
        dedupe_key=f"answer-{number}",
        kind="answer",
        channel="text",
        person_id=contact.person_id if contact else None,
        to_address=text.number,
        to_name="",
        subject="",
        text=gsm.cut(gsm.plain(answer), MOST_PARTS),
        html="",
        images={},
        created_at=text.at,
        available_at=text.at,
        not_after=text.at + ANSWER_LIFE,
        priority=0,
        contact_id=contact.id if contact else None,
    )
