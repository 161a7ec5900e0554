"""What a channel promises: accept, or say whether trying again can help."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from rootbound_service.errors import ServiceError
from rootbound_service.records import OutboxMessage


class SendError(ServiceError):
    """A message did not get through, as far as is known.

    Parameters
    ----------
    error
        What the other side said; holds no address.
    code
        Its number, None where there was none.
    """

    def __init__(self, error: str, code: int | None = None) -> None:
        super().__init__(error)
        self.error = error
        self.code = code


class RefusedForGood(SendError):
    """The other side will never take this message: a dead address, a size, a content."""


class NotNow(SendError):
    """The other side may take it later: busy, greylisted, mailbox full.

    ``after_s`` is how long it asked us to wait. [s]
    """

    def __init__(self, error: str, code: int | None = None, after_s: float | None = None) -> None:
        super().__init__(error, code)
        self.after_s = after_s


class Unreachable(NotNow):
    """Nobody answers: the other messages of the batch can wait as well."""


class NobodyKnows(SendError):
    """The connection broke after the message was handed over, before it was acknowledged.

    ``safe_again`` tells that the other side knows a message it has by its name, so that trying
    again makes no double.
    """

    def __init__(self, error: str, code: int | None = None, *, safe_again: bool = False) -> None:
        super().__init__(error, code)
        self.safe_again = safe_again


class ChannelRefused(SendError):
    """The other side refuses us, not the recipient: log-in, policy, sender address."""


@dataclass(frozen=True, slots=True)
class Delivered:
    """What a channel says of a message it took, and how it went out."""

    provider_id: str | None = None
    headers: str = ""
    """The headers as sent; with the stored subject, text and images the message as sent."""


class ChannelOut(Protocol):
    """A way out for messages of one channel."""

    def deliver(self, message: OutboxMessage, first_key: str | None) -> Delivered:
        """Hand over one message.

        Parameters
        ----------
        message
            Rendered when it was decided.
        first_key
            Dedupe key of the first message of its thread; None: it is the first.

        Raises
        ------
        SendError
            One of its children says what may be done next.
        ValueError, LookupError, TypeError
            If the message cannot be written at all.
        """
        ...

    def close(self) -> None:
        """Let go of the connection, if there is one."""
        ...


class Transport(Protocol):
    """A way out for e-mail: the wire under a channel."""

    def send(self, raw: bytes, sender: str, to: str) -> str | None:
        """Hand over one message to one recipient; give the other side's name for it.

        Parameters
        ----------
        raw
            The letter with its headers, lines ended by CRLF.
        sender
            To whom a bounce goes.
        to
            The recipient.

        Raises
        ------
        SendError
            One of its children says what may be done next.
        """
        ...

    def close(self) -> None:
        """Let go of the connection, if there is one."""
        ...
