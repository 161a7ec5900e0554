"""Who writes: a person, or a machine that must not be answered (RFC 3834 section 2)."""

from __future__ import annotations

from email.message import EmailMessage

from rootbound_service.channels.said import header_text
from rootbound_service.replies.storable import storable

_BULK = {"bulk", "junk", "list", "auto_reply"}


def is_machine(mail: EmailMessage) -> bool:
    """Tell whether a letter comes from a machine or a list.

    Parameters
    ----------
    mail
        The letter.
    """
    auto = header(mail, "Auto-Submitted").partition(";")[0].strip().lower()
    if auto not in {"", "no"}:
        return True
    if header(mail, "Return-Path").replace(" ", "") == "<>":
        return True
    if header(mail, "Precedence").strip().lower() in _BULK or header(mail, "List-Id"):
        return True
    return mail.get_content_type() == "multipart/report"


def header(mail: EmailMessage, name: str) -> str:
    """Give a header as text that every database keeps; empty where it cannot be read at all.

    Parameters
    ----------
    mail
        The letter.
    name
        Of the header.
    """
    return storable(header_text(mail, name))
