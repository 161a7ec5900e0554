"""The answer to a letter, as a letter."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from email.message import EmailMessage
from typing import TYPE_CHECKING

from rootbound_service.records import OutboxMessage
from rootbound_service.replies.machines import header

if TYPE_CHECKING:
    from rootbound_service.records import Contact

LIFE = timedelta(days=1)
_NAME = re.compile(r"<[^<>\s@]{1,120}@[^<>\s@]{1,120}>", re.ASCII)


def answer_message(
    contact: Contact, parsed: EmailMessage, answer: str, number: int, now: datetime
) -> OutboxMessage:
    """Word the answer to a letter.

    Parameters
    ----------
    contact
        Who wrote.
    parsed
        What they wrote.
    answer
        What they are answered.
    number
        Of the letter among those that came in.
    now
        The time, aware.
    """
    subject = " ".join(header(parsed, "Subject").split())[:120]
    reply = subject if subject.lower().startswith("re:") else f"Re: {subject}".strip()
    return OutboxMessage(
        dedupe_key=f"answer-{number}",
        kind="answer",
        channel="email",
        person_id=contact.person_id,
        to_address=contact.address,
        to_name="",
        subject=reply,
        text=f"{answer}\n",
        html="",
        images={},
        created_at=now,
        available_at=now,
        not_after=now + LIFE,
        priority=0,
        thread_key=_name(parsed),  # of an answer: the letter it answers
        contact_id=contact.id,
    )


def _name(parsed: EmailMessage) -> str:
    """The Message-ID of a letter; empty where it has none that another letter could carry."""
    found = _NAME.fullmatch(header(parsed, "Message-ID").strip())
    return found[0] if found else ""
