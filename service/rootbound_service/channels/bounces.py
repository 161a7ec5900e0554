"""Bounces: delivery status notifications of RFC 3464, and what follows from them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from email.message import EmailMessage, Message
from typing import Literal

State = Literal["delivered", "delayed", "failed", "unknown"]
_STATUS = re.compile(r"\b([245]\.\d{1,3}\.\d{1,3})\b")
_ADDRESS = re.compile(r"[^\s<>\"']+@[^\s<>\"',;:]+")
_STATES: dict[str, State] = {
    "failed": "failed",
    "delayed": "delayed",
    "delivered": "delivered",
    "relayed": "delivered",
    "expanded": "delivered",
}
SAID_MOST = 200
BACK_DAYS, MOST_SOFT = 14, 5
"""So many soft bounces in so many days, and the address counts as dead."""

Follows = Literal["suppress", "count", "operator", "nothing"]


@dataclass(frozen=True, slots=True)
class Bounce:
    """What a mail system says of a letter of ours."""

    state: State
    status: str
    """RFC 3463, as ``5.1.1``; empty where none was given."""
    said: str
    """The diagnosis, without addresses."""
    message_id: str
    """Of our letter, where the notification gives it back."""

    @property
    def follows(self) -> Follows:
        """What is to be done: a dead address is stopped, a full one counted, policy is ours."""
        if self.state != "failed":
            return "nothing"
        if self.status.startswith("5.7."):
            return "operator"
        if self.status.startswith("5.1.") or self.status == "5.2.1":
            return "suppress"
        return "count"


def read_bounce(mail: EmailMessage) -> Bounce | None:
    """Read a delivery status notification; None where the mail is none.

    Parameters
    ----------
    mail
        As it came in.
    """
    if mail.get_content_type() != "multipart/report":
        return None
    if str(mail.get_param("report-type", "")).lower() != "delivery-status":
        return None
    parts = list(mail.walk())
    status = next(
        (one for one in parts if one.get_content_type() == "message/delivery-status"), None
    )
    blocks = status.get_payload() if status is not None else []
    # RFC 3464 2.1: first the fields of the message, then a block for each recipient
    recipients = [one for one in blocks if isinstance(one, Message) and one["Final-Recipient"]]
    if not recipients:
        return None
    first = recipients[0]
    diagnosis = " ".join(str(first.get("Diagnostic-Code", "")).split())
    found = _STATUS.search(str(first.get("Status", ""))) or _STATUS.search(diagnosis)
    return Bounce(
        state=_STATES.get(str(first.get("Action", "")).strip().lower(), "unknown"),
        status=found[1] if found else "",
        said=_ADDRESS.sub("[address]", diagnosis)[:SAID_MOST],
        message_id=_original(parts),
    )


def _original(parts: Sequence[Message]) -> str:
    """Message-ID of the letter that came back, whole or as headers."""
    for part in parts:
        if part.get_content_type() == "message/rfc822":
            inner = part.get_payload()
            if isinstance(inner, list) and inner and isinstance(inner[0], Message):
                return str(inner[0].get("Message-ID", "")).strip()
        if part.get_content_type() == "text/rfc822-headers":
            found = re.search(r"(?im)^Message-ID:\s*(\S+)", str(part.get_payload()))
            return found[1] if found else ""
    return ""
