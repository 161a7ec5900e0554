"""What mail systems say, in a form that may be kept: short, and naming nobody."""

from __future__ import annotations

import re
from email.message import Message

MOST = 200
_ADDRESS = re.compile(r"[^\s<>\"']+@[^\s<>\"',;:]+")


def said_briefly(text: str) -> str:
    """Return what a mail system said, in one short line without addresses.

    Parameters
    ----------
    text
        Its words.
    """
    return _ADDRESS.sub("[address]", " ".join(text.split()))[:MOST]


def header_text(mail: Message[str, str], name: str) -> str:
    """Give a header as text, empty where it is missing or the parser makes no sense of it.

    Parameters
    ----------
    mail
        A letter, or a block of a notification.
    name
        Of the header.
    """
    try:
        return str(mail.get(name, ""))
    except (ValueError, LookupError, TypeError, AttributeError):  # the parser's, on odd headers
        return ""
