"""E-mail as a channel: an outbox message becomes a letter and goes to the relay."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rootbound_service.channels.email import Letterhead, to_email
from rootbound_service.channels.transport import Delivered, Transport
from rootbound_service.links import Links
from rootbound_service.records import OutboxMessage

Sign = Callable[[bytes], bytes]
"""Gives the header that signs a letter, with its line end, to be put before it."""


@dataclass(frozen=True, slots=True)
class MailChannel:
    """Letters over a relay; methods as in :class:`ChannelOut`.

    Parameters
    ----------
    transport
        The wire.
    head
        Who writes.
    links
        Makes the letter's own links.
    sign
        For a relay that does not sign; None: it does.
    """

    transport: Transport
    head: Letterhead
    links: Links
    sign: Sign | None = None

    def deliver(self, message: OutboxMessage, first_key: str | None) -> Delivered:
        """Write the letter and hand it over."""
        mail = to_email(message, self.head, first_key, self.links)
        raw = mail.as_bytes()
        if self.sign is not None:
            raw = self.sign(raw) + raw
        sender = self.head.return_path(message.id, self.links)
        said = self.transport.send(raw, sender, message.to_address)
        headers = raw.partition(b"\r\n\r\n")[0].decode("utf-8", "replace")
        return Delivered(said, headers)

    def close(self) -> None:
        """Let go of the connection."""
        self.transport.close()
