"""Bounces: delivery status notifications of RFC 3464, and what follows from them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from email.message import EmailMessage, Message
from typing import TYPE_CHECKING, Literal, cast

from rootbound_service.channels.said import header_text, said_briefly

if TYPE_CHECKING:
    from rootbound_service.store.receipts import State

_STATUS = re.compile(r"\b([245]\.\d{1,3}\.\d{1,3})\b")
_STATES: dict[str, State] = {
    "failed": "failed",
    "delayed": "delayed",
    "delivered": "delivered",
    "relayed": "delivered",
    "expanded": "delivered",
}
_WORST: tuple[State, ...] = ("failed", "delayed", "unknown", "delivered")
"""Of several recipients, as of a letter that was passed on, the worst counts."""
BACK_DAYS, MOST_SOFT = 14, 5
"""So many soft bounces in so many days, and the address counts as dead."""

OUR_FAULT = {"5.1.7", "5.1.8", "5.2.3"}
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
        """What is to be done."""
        return what_follows(self.state, self.status)


def what_follows(state: State, status: str) -> Follows:
    """Tell what is to be done: a dead address is stopped, a full one counted, the rest is ours.

    Parameters
    ----------
    state
        What became of the letter.
    status
        By RFC 3463; empty where none was given.
    """
    if state != "failed":
        return "nothing"
    # RFC 3463 3.2: 5.1.7 and 5.1.8 find fault with the sender; 3.4 to 3.8: size, form, policy
    if status in OUR_FAULT or status.startswith(("5.3.4", "5.5.", "5.6.", "5.7.")):
        return "operator"
    if status.startswith("5.1.") or status == "5.2.1":
        return "suppress"
    return "count"


def status_in(said: str) -> str:
    """Find the status in what a mail system said; empty where there is none.

    Parameters
    ----------
    said
        Its words, such as ``550 5.1.1 no such mailbox``.
    """
    found = _STATUS.search(said)
    return found[1] if found else ""


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
    # RFC 3464 2.1: first the fields of the message, then a block for each recipient
    told = [_told(one) for one in _within(status)]
    found = [one for one in told if one is not None]
    if not found:
        return None
    state, status_code, said = min(found, key=lambda one: _WORST.index(one[0]))
    return Bounce(state, status_code, said, _original(parts))


def _within(part: Message[str, str] | None) -> list[Message[str, str]]:
    """The blocks or the letter in a part; the library reads both as messages."""
    inner: object = part.get_payload() if part is not None else None
    blocks = cast("list[object]", inner) if isinstance(inner, list) else []
    return [cast("Message[str, str]", one) for one in blocks if isinstance(one, Message)]


def _told(block: Message[str, str]) -> tuple[State, str, str] | None:
    """State, code and diagnosis of one recipient; None for a block that names none."""
    if not header_text(block, "Final-Recipient"):
        return None
    diagnosis = header_text(block, "Diagnostic-Code")
    state = _STATES.get(header_text(block, "Action").strip().lower(), "unknown")
    codes = [*_STATUS.findall(header_text(block, "Status")), *_STATUS.findall(diagnosis)]
    exact = [one for one in codes if one[:1] == codes[0][:1] and not one.endswith(".0.0")]
    code = (exact or codes or [""])[0]  # 5.0.0 tells nothing where the diagnosis tells more
    return state, code, said_briefly(diagnosis)


def _original(parts: Sequence[Message[str, str]]) -> str:
    """Message-ID of the letter that came back, whole or as headers."""
    for part in parts:
        if part.get_content_type() == "message/rfc822":
            return next((header_text(one, "Message-ID").strip() for one in _within(part)), "")
        if part.get_content_type() == "text/rfc822-headers":
            found = re.search(r"(?im)^Message-ID:\s*(\S+)", str(part.get_payload()))
            return found[1] if found else ""
    return ""
