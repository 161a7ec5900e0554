"""What the operator hears: silence must never look like "no risk"."""

from __future__ import annotations

from hashlib import sha256
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.notes.en.quantities import count
from rootbound_service.notes.operator import to_operator

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from rootbound_service.records import OutboxMessage


def night_subject(night: date, without_answer: int) -> str:
    """Subject of the message about a night on which something went wrong.

    Parameters
    ----------
    night
        The night.
    without_answer
        Fields of which nothing can be said.
    """
    if without_answer == 0:
        return f"Night of {night}: every field has an answer, but not all went well"
    return f"Night of {night}: {count(without_answer, 'field')} without an answer"


def night_message(
    night: date, silent: int, sentences: Sequence[str], address: str | None, now: datetime
) -> list[OutboxMessage]:
    """Word what the operator is to hear of a night; nothing where there is nobody to hear it.

    Parameters
    ----------
    night
        The night.
    silent
        Fields of which nothing can be said.
    sentences
        What went wrong, and what the sources did.
    address
        The operator's.
    now
        The moment.
    """
    if not address:
        return []
    subject, lead = night_subject(night, silent), night_lead(silent)
    return [operator_message(subject, lead, sentences, address, now)]


def night_lead(without_answer: int) -> str:
    """First sentence of that message.

    Parameters
    ----------
    without_answer
        Fields of which nothing can be said.
    """
    if without_answer == 0:
        return "All fields were computed with what is stored. What did not go well:"
    return "Fields without an answer are shown so until this is mended. All others went on."


def operator_message(
    subject: str, lead: str, sentences: Sequence[str], address: str, now: datetime
) -> OutboxMessage:
    """Word a message to the operator.

    Parameters
    ----------
    subject
        What it is about; the same subject and sentences make the same message.
    lead
        The first sentence.
    sentences
        What went wrong, one thing a sentence.
    address
        Of the operator.
    now
        The moment, aware UTC.
    """
    text = "\n".join([subject, "", lead, "", *(f"- {one}" for one in sentences), ""])
    items = "".join(f"<li>{escape(one)}</li>" for one in sentences)
    page = f"<h1>{escape(subject)}</h1><p>{escape(lead)}</p><ul>{items}</ul>"
    mark = sha256("\n".join((subject, *sentences)).encode()).hexdigest()[:20]
    return to_operator(subject, (text, f"<html><body>{page}</body></html>"), address, now, mark)


def in_short(error: BaseException) -> str:
    """Say what went wrong in one line, and where: no locals, so no address and no place.

    Parameters
    ----------
    error
        What was raised.
    """
    # the first line only: a database error goes on with the values it was given
    first = (str(error).splitlines() or [""])[0]
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    code = trace.tb_frame.f_code if trace else None
    where = f" ({Path(code.co_filename).name}:{trace.tb_lineno})" if trace and code else ""
    return f"{type(error).__name__}: {first}{where}"
