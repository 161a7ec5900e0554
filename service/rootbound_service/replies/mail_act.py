"""An answer by letter: what is meant, acted upon once, answered once at the most.

Who a letter is from anybody can make up. So only "stop" and "help" are heard from any letter;
what changes what we compute or whom we tell must answer a letter of ours, whose name nobody knows
but who had it.
"""

from __future__ import annotations

import re
from datetime import datetime
from email.message import EmailMessage
from typing import TYPE_CHECKING, Literal

from rootbound_service.notes.speech import say, speaking
from rootbound_service.records import Scope
from rootbound_service.replies.act import Heard, respond, seen_message
from rootbound_service.replies.kept import Came, keep, keep_answer, may_answer
from rootbound_service.replies.machines import header
from rootbound_service.replies.mail_answer import answer_message
from rootbound_service.replies.understand import Understood, understand
from rootbound_service.replies.written import written
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import person_with

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import Contact
    from rootbound_service.replies.letters import Letter

ANYBODY = {"stop", "help", "unclear"}
"""What needs no proof of who wrote."""
_EVERYTHING = re.compile(r"\b(all|everything|any)\b", re.IGNORECASE)


def take_answer(
    conn: Connection,
    parsed: EmailMessage,
    contact: Contact,
    letter: Letter | None,
    name: str,
    now: datetime,
    ask: str,
) -> Literal["stopped", "answered", "told_before"]:
    """Act upon what somebody wrote, and answer.

    Parameters
    ----------
    conn
        The caller's transaction.
    parsed
        Their letter.
    contact
        Who wrote.
    letter
        The letter of ours that they answer; None: it answers none.
    name
        Under which it is kept.
    now
        The time, aware.
    ask
        Whom to ask for help.
    """
    said, meant = meaning_of(parsed, letter.text if letter else "")
    number = keep(conn, Came(name, now, contact.id, contact.address, said, meant.meaning))
    if number is None:
        return "told_before"
    answering = may_answer(conn, contact, meant.meaning, now)
    scope = scope_of(letter, said)
    heard = Heard(contact, "email", said, f"email-{number}", now, scope, ask)
    answer = _act(conn, heard, meant, letter)
    if answering:
        keep_answer(conn, number, answer)
        enqueue(conn, [answer_message(contact, parsed, answer, number, now)])
    return "stopped" if meant.meaning == "stop" else "answered"


def meaning_of(parsed: EmailMessage, ours: str = "") -> tuple[str, Understood]:
    """Tell what somebody wrote and what it means.

    Parameters
    ----------
    parsed
        Their letter.
    ours
        The text of the letter they answer.

    Returns
    -------
    tuple of str and Understood
        By the first paragraph; a wish to stop counts wherever it stands.
    """
    # a subject that answers is ours, not theirs
    subject = header(parsed, "Subject").strip()
    own = [] if subject.lower().startswith(("re:", "aw:", "sv:", "fw:", "fwd:")) else [subject]
    paragraphs = written(parsed, ours) or own or [""]
    for one in [*paragraphs, *own]:
        if (meant := understand(one)).meaning == "stop":
            return one, meant
    return paragraphs[0], understand(paragraphs[0])


def scope_of(letter: Letter | None, said: str) -> Scope:
    """Tell what the word "stop" stops: letters of the kind that is answered, or everything.

    Parameters
    ----------
    letter
        The letter they answer.
    said
        What they wrote.
    """
    if letter is None or _EVERYTHING.search(said):
        return "all"
    if letter.kind == "digest":
        return "digest"
    return "note" if letter.kind == "note" else "all"


def _act(conn: Connection, heard: Heard, meant: Understood, letter: Letter | None) -> str:
    """Act and word the answer, in the reader's language."""
    this_note = letter is not None and letter.kind == "note" and meant.meaning == "seen"
    if not this_note and (letter is not None or meant.meaning in ANYBODY):
        return respond(conn, heard, meant)
    with speaking(person_with(conn, heard.contact.person_id).language):
        if letter is None:
            return say.ANSWER_OURS
        return seen_message(conn, heard, letter.id)  # the very note they answer, not a later one
