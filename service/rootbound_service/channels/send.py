"""The sender: claim, send, mark. At least once, never lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from typing import Literal

import structlog

from rootbound_service.channels.email import Letterhead, to_email
from rootbound_service.channels.outbox import Outbox
from rootbound_service.channels.retry import DOUBTFUL_TRIES, wait
from rootbound_service.channels.transport import (
    ChannelRefused,
    NobodyKnows,
    NotNow,
    RefusedForGood,
    SendError,
    Transport,
    Unreachable,
)
from rootbound_service.clock import Clock
from rootbound_service.errors import ServiceError
from rootbound_service.records import OutboxMessage

LEASE = timedelta(minutes=15)
LIMIT = 20
LONGEST_SEND = timedelta(minutes=5)
"""No message is begun with less than this left of the lease: another sender could take it."""

Fate = Literal["sent", "retried", "dead", "unknown", "lost"]

_log = structlog.get_logger(__name__)


class ChannelStopped(ServiceError):
    """The channel refuses us; every message is kept, the operator has to look."""

    def __init__(self, error: str, code: int | None, report: SendReport) -> None:
        super().__init__(f"e-mail stopped: {error}")
        self.code = code
        self.report = report


@dataclass(slots=True)
class SendReport:
    """How many messages of a batch met which fate."""

    sent: int = 0
    retried: int = 0
    dead: int = 0
    unknown: int = 0
    lost: int = 0
    """The lease had run out before the mark: the message may be sent twice."""

    @property
    def total(self) -> int:
        """Messages of the batch."""
        return self.sent + self.retried + self.dead + self.unknown + self.lost


@dataclass(frozen=True, slots=True)
class Sender:
    """One sender with all it needs; see :func:`send_due`."""

    outbox: Outbox
    transport: Transport
    clock: Clock
    me: str
    head: Letterhead
    rng: Random

    def one(self, message: OutboxMessage) -> Fate:
        """Send one message and mark what became of it; refusal of us all goes up."""
        try:
            first = self.outbox.first_message_key(message.thread_key, message.person_id)
            mail = to_email(message, self.head, first)
        except (ValueError, LookupError, TypeError) as error:
            return self.dead(message, None, f"cannot be written: {type(error).__name__}: {error}")
        try:
            provider_id = self.transport.send(mail, message.to_address)
        except (ChannelRefused, Unreachable):
            raise
        except NobodyKnows as error:
            return self._doubtful(message, error)
        except RefusedForGood as error:
            return self.dead(message, error.code, error.error)
        except NotNow as error:
            return self.later(message, error)
        done = self.outbox.mark_sent(message.id, self.me, self.clock.now(), provider_id)
        return "sent" if done else "lost"

    def later(self, message: OutboxMessage, error: SendError) -> Fate:
        """Put a message off; one that would come too late is given up."""
        now = self.clock.now()
        again = now + wait(message.attempts, self.rng)
        if message.not_after is not None and again > message.not_after:
            return self.dead(message, error.code, f"gave up, too late to tell: {error.error}")
        return self._put_back(message, now, again, error)

    def release(self, message: OutboxMessage, error: SendError) -> Fate:
        """Put back a message that was not tried; it stays due."""
        now = self.clock.now()
        return self._put_back(message, now, now, error)

    def _put_back(
        self, message: OutboxMessage, now: datetime, again: datetime, error: SendError
    ) -> Fate:
        """Mark a message for another attempt."""
        done = self.outbox.mark_retry(message.id, self.me, now, again, error.code, error.error)
        return "retried" if done else "lost"

    def dead(self, message: OutboxMessage, code: int | None, error: str) -> Fate:
        """Give a message up."""
        done = self.outbox.mark_dead(message.id, self.me, self.clock.now(), code, error)
        return "dead" if done else "lost"

    def _doubtful(self, message: OutboxMessage, error: NobodyKnows) -> Fate:
        """Try a warning again; leave a digest: a letter that comes twice is a nuisance."""
        if message.kind != "digest" and message.attempts < DOUBTFUL_TRIES:
            return self.later(message, error)
        now = self.clock.now()
        done = self.outbox.mark_unknown(message.id, self.me, now, error.code, error.error)
        return "unknown" if done else "lost"


def send_due(  # noqa: PLR0913 - every part is handed in
    outbox: Outbox,
    transport: Transport,
    clock: Clock,
    me: str,
    *,
    head: Letterhead,
    rng: Random,
    lease: timedelta = LEASE,
    limit: int = LIMIT,
) -> SendReport:
    """Send one batch of what is due; call again while ``report.total`` is not 0.

    Parameters
    ----------
    outbox
        Where messages wait.
    transport
        The way out; its connection is kept for the batch and closed after it.
    clock
        The time.
    me
        Name of this sender, that no other process has.
    head
        Who writes.
    rng
        For the waits.
    lease
        For how long messages are ours; a message is not begun near its end.
    limit
        How many at most.

    Returns
    -------
    SendReport
        What became of the batch.

    Raises
    ------
    ChannelStopped
        If the relay refuses us; the batch has been put back before.
    """
    sender = Sender(outbox, transport, clock, me, head, rng)
    report = SendReport()
    until = clock.now() + lease - min(LONGEST_SEND, lease / 2)
    try:
        batch = outbox.claim(me, clock.now(), lease, limit)
        for place, message in enumerate(batch):
            if clock.now() >= until:
                break  # what is left is claimed again once the lease has run out
            try:
                _count(report, sender.one(message))
            except Unreachable as error:
                for other in batch[place:]:
                    _count(report, sender.later(other, error))
                break
            except ChannelRefused as error:
                _count(report, sender.later(message, error))
                for other in batch[place + 1 :]:
                    _count(report, sender.release(other, error))
                raise ChannelStopped(error.error, error.code, report) from error
    finally:
        transport.close()
    return report


def _count(report: SendReport, fate: Fate) -> None:
    """Add one message to the report; a lost lease is told, for it may mean a double."""
    setattr(report, fate, getattr(report, fate) + 1)
    if fate == "lost":
        _log.warning("lease_lost_before_mark")
