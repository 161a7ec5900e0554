"""An outbox message as an e-mail: exact headers, and the same bytes every time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from email import policy
from email.errors import HeaderParseError
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from hashlib import sha256

from rootbound_service.channels.bounce_address import tagged
from rootbound_service.links import Links
from rootbound_service.records import OutboxMessage

_HEADERS = policy.SMTP.clone(max_line_length=998)
"""Wide, because a folded List-Unsubscribe is turned into encoded words that mail programs do not
read (CPython issue 85725)."""

_BODIES = policy.SMTP.clone(max_line_length=76)
"""Quoted-printable lines are at most 76 long, RFC 2045 6.7."""

_STREAMS = {
    "note": ("Field notes", "notes"),
    "digest": ("Weekly digest", "digest"),
    "operator": ("Operator notices", "operator"),
    "answer": ("Answers", "answers"),
}
_ONE_CLICK = "List-Unsubscribe=One-Click"
"""The only thing RFC 8058 allows in List-Unsubscribe-Post."""


@dataclass(frozen=True, slots=True)
class Letterhead:
    """Who writes: from the settings.

    Parameters
    ----------
    mail_from
        Address the letters come from; its domain stands in Message-ID and List-ID.
    mail_from_name
        Name shown beside it.
    reply_to
        A box that somebody reads; None: ``mail_from``.
    bounces
        Where bounces go, with the message's number in the address; None: to ``mail_from``.
    """

    mail_from: str
    mail_from_name: str = "Rootbound"
    reply_to: str | None = None
    bounces: str | None = None

    @property
    def domain(self) -> str:
        """Domain of the sending address."""
        return self.mail_from.rpartition("@")[2]

    @property
    def answers_to(self) -> str:
        """Address that takes answers and the word "stop"."""
        return self.reply_to or self.mail_from

    def return_path(self, message_id: int, links: Links) -> str:
        """Return the address to which a bounce of a message goes."""
        return tagged(self.bounces, message_id, links.secret) if self.bounces else self.mail_from


def to_email(
    message: OutboxMessage, head: Letterhead, first_key: str | None, links: Links
) -> EmailMessage:
    """Build the e-mail of an outbox message.

    Parameters
    ----------
    message
        Rendered when it was decided.
    head
        Who writes.
    first_key
        Dedupe key of the first message of its thread; None or its own key: it is the first.
    links
        Makes the letter's own links and the one that stops its kind.

    Returns
    -------
    EmailMessage
        ``multipart/alternative`` of text and of HTML with its pictures. The same message gives
        the same bytes, Message-ID and boundaries among them, on every retry.

    Raises
    ------
    ValueError
        If an address or a header cannot be written, such as an address with a line break.
    """
    mail = EmailMessage(policy=_HEADERS)
    mail["From"] = _address(head.mail_from_name, head.mail_from)
    mail["To"] = _address(message.to_name, message.to_address)
    mail["Reply-To"] = _address("", head.answers_to)
    mail["Subject"] = message.subject
    mail["Date"] = format_datetime(message.created_at)
    mail["Message-ID"] = message_id(message.dedupe_key, head)
    if message.kind == "answer" and message.thread_key:  # RFC 3834 3.1.5: the letter answered
        mail["In-Reply-To"] = mail["References"] = message.thread_key
    elif first_key and first_key != message.dedupe_key:
        mail["In-Reply-To"] = message_id(first_key, head)
        mail["References"] = message_id(first_key, head)
    title, stream = _STREAMS[message.kind]
    mail["List-ID"] = f"{title} <{stream}.{head.domain}>"
    _how_to_stop(mail, message, head, links)
    mail["Auto-Submitted"] = "auto-replied" if message.kind == "answer" else "auto-generated"
    mail["MIME-Version"] = "1.0"
    own = (message.id, message.contact_id, message.kind)
    _fill(
        mail,
        replace(
            message, text=links.filled(message.text, *own), html=links.filled(message.html, *own)
        ),
    )
    return mail


def _how_to_stop(
    mail: EmailMessage, message: OutboxMessage, head: Letterhead, links: Links
) -> None:
    """Name the ways to stop: one click where we have a web address (RFC 8058), else a letter."""
    if message.kind in {"operator", "answer"}:
        return
    url = links.stop_url(message.contact_id, message.kind)
    subject = "stop" if url is None else f"stop-{url.rpartition('/')[2]}"
    by_mail = f"<mailto:{head.answers_to}?subject={subject}>"
    mail["List-Unsubscribe"] = by_mail if url is None else f"<{url}>, {by_mail}"
    if url is not None and url.startswith("https://"):
        mail["List-Unsubscribe-Post"] = _ONE_CLICK


def message_id(dedupe_key: str, head: Letterhead) -> str:
    """Return the Message-ID of a dedupe key: never the key itself, for it may name people."""
    return f"<{letter_name(dedupe_key)}.email@{head.domain}>"


def letter_name(dedupe_key: str) -> str:
    """Return what stands for a dedupe key in its Message-ID."""
    return _hash(dedupe_key)


def _hash(text: str) -> str:
    """Return a short name that follows from the text alone."""
    return sha256(text.encode()).hexdigest()[:32]


def _address(name: str, address: str) -> Address:
    """Return an address with its name, quoted and encoded as needed; the error names neither."""
    try:
        return Address(display_name=name, addr_spec=address)
    except (ValueError, IndexError, HeaderParseError) as error:
        raise ValueError("an address is not one that a letter can carry") from error


def _fill(mail: EmailMessage, message: OutboxMessage) -> None:
    """Put text, HTML and pictures in, with boundaries that follow from the dedupe key."""
    if not message.html:
        _inherit(mail, _text(message.text, "plain"))
        return
    page: EmailMessage = _text(message.html, "html")
    if message.images:
        related = EmailMessage(policy=_BODIES)
        related["Content-Type"] = 'multipart/related; type="text/html"'
        related.set_boundary(f"=_rel_{_hash(message.dedupe_key)}")
        related.attach(page)
        for name in sorted(message.images):
            related.attach(_picture(name, message.images[name]))
        page = related
    mail["Content-Type"] = "multipart/alternative"
    mail.set_boundary(f"=_alt_{_hash(message.dedupe_key)}")
    mail.attach(_text(message.text, "plain"))
    mail.attach(page)


def _inherit(mail: EmailMessage, part: EmailMessage) -> None:
    """Make a single part the whole body."""
    for name, value in part.items():
        mail[name] = value
    mail.set_payload(part.get_payload())


def _text(text: str, subtype: str) -> EmailMessage:
    """Return a text part in short lines, whatever the lines of the text are."""
    part = EmailMessage(policy=_BODIES)
    part.set_content(text, subtype=subtype, charset="utf-8", cte="quoted-printable")
    del part["MIME-Version"]
    return part


def _picture(name: str, png: bytes) -> EmailMessage:
    """Return a picture that the HTML shows by its Content-ID."""
    part = EmailMessage(policy=_BODIES)
    file = f"{name.partition('@')[0]}.png"
    part.set_content(png, "image", "png", disposition="inline", filename=file, cid=f"<{name}>")
    del part["MIME-Version"]
    return part
