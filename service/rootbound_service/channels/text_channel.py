"""Texts as a channel: an outbox message goes to the gateway, never longer than two parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from rootbound_service import gsm
from rootbound_service.channels.transport import Delivered
from rootbound_service.links import Links
from rootbound_service.records import OutboxMessage

MOST_PARTS = 2


class Gateway(Protocol):
    """Whoever takes texts."""

    def send(self, to: str, text: str, key: str) -> Delivered:
        """Hand over one text; ``key`` is the same on every retry."""
        ...


@dataclass(frozen=True, slots=True)
class TextChannel:
    """Texts over a gateway; methods as in :class:`ChannelOut`.

    Parameters
    ----------
    gateway
        Who takes them.
    links
        Makes the message's own links.
    """

    gateway: Gateway
    links: Links

    def deliver(self, message: OutboxMessage, first_key: str | None) -> Delivered:
        """Hand over one text."""
        del first_key  # texts have no threads
        own = (message.id, message.contact_id, message.kind)
        text = self.links.filled(message.text, *own).strip()
        parts = gsm.size(text).parts
        if parts > MOST_PARTS:
            raise ValueError(f"the text takes {parts} parts; {MOST_PARTS} at most")
        return self.gateway.send(message.to_address, text, message.dedupe_key)

    def close(self) -> None:
        """Let go of the connection, if the gateway holds one."""
        close = getattr(self.gateway, "close", None)
        if close is not None:
            close()
