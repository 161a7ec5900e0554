"""The sender: claim, send, mark. At least once, never lost, and nobody is woken by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Literal

import structlog

from rootbound_service.channels.breaker import after_failure, after_success, allowed
from rootbound_service.channels.outbox import Outbox
from rootbound_service.channels.retry import DOUBTFUL_TRIES, TWICE_IS_BETTER, wait
from rootbound_service.channels.transport import (
    ChannelOut,
    ChannelRefused,
    NobodyKnows,
    NotNow,
    SendError,
    Unreachable,
)
from rootbound_service.clock import Clock
from rootbound_service.records import Channel, OutboxMessage
from rootbound_service.store.delivery import Taken
from rootbound_service.telling.quiet import is_quiet, local_time, next_open

LEASE = timedelta(minutes=15)
LIMIT = 20
LONGEST_SEND = timedelta(minutes=5)
"""No message is begun with less than this left of the lease: another sender could take it."""

Fate = Literal["sent", "retried", "dead", "unknown", "lost", "waiting", "suppressed"]

_log = structlog.get_logger(__name__)


@dataclass(slots=True)
class SendReport:
    """How many messages of a batch met which fate."""

    sent: int = 0
    retried: int = 0
    dead: int = 0
    unknown: int = 0
    lost: int = 0
    """The lease had run out before the mark: the message may be sent twice."""
    waiting: int = 0
    """Put back untried: for the night's rest of their reader, or behind one that failed."""
    suppressed: int = 0
    """Stopped by their reader since they were claimed."""
    stopped: dict[Channel, str] = field(default_factory=dict[Channel, str])
    """Channels that refuse us, with what they said; every message is kept."""

    @property
    def total(self) -> int:
        """Messages of the batch that were tried."""
        return self.sent + self.retried + self.dead + self.unknown + self.lost


@dataclass(frozen=True, slots=True)
class Sender:
    """One sender of one channel with all it needs; see :func:`send_due`."""

    outbox: Outbox
    out: ChannelOut
    clock: Clock
    me: str
    rng: Random

    def one(self, message: OutboxMessage) -> Fate:
        """Send one message and mark what became of it; refusal of us all goes up."""
        now = self.clock.now()
        if is_quiet(now, message.quiet_zone):
            return self.waits(message, next_open(now, message.quiet_zone))
        if not self.outbox.still_wanted(message, self.me):
            return "suppressed"
        try:
            first = self.outbox.first_message_key(message.thread_key, message.person_id)
            delivered = self.out.deliver(message, first)
        except (ChannelRefused, Unreachable):
            raise
        except SendError as error:
            return self._failed(message, error)
        except (ValueError, LookupError, TypeError) as error:
            return self.dead(message, None, f"cannot be written: {type(error).__name__}: {error}")
        now = self.clock.now()
        clock_says = local_time(now, message.quiet_zone)
        taken = Taken(delivered.provider_id, delivered.headers, clock_says)
        return "sent" if self.outbox.mark_sent(message.id, self.me, now, taken) else "lost"

    def _failed(self, message: OutboxMessage, error: SendError) -> Fate:
        """Mark a message that did not get through, by what the other side said."""
        if isinstance(error, NobodyKnows):
            return self._doubtful(message, error)
        if isinstance(error, NotNow):
            return self.later(message, error)
        return self.dead(message, error.code, error.error)

    def later(self, message: OutboxMessage, error: SendError) -> Fate:
        """Put a message off; one that would come too late is given up."""
        now = self.clock.now()
        asked = timedelta(seconds=getattr(error, "after_s", None) or 0)
        again = next_open(now + max(asked, wait(message.attempts, self.rng)), message.quiet_zone)
        if message.not_after is not None and again > message.not_after:
            return self.dead(message, error.code, f"gave up, too late to tell: {error.error}")
        done = self.outbox.mark_retry(message.id, self.me, now, again, error.code, error.error)
        return "retried" if done else "lost"

    def waits(self, message: OutboxMessage, until: datetime) -> Fate:
        """Put back a message that was not tried."""
        return "waiting" if self.outbox.put_back(message.id, self.me, until) else "lost"

    def dead(self, message: OutboxMessage, code: int | None, error: str) -> Fate:
        """Give a message up."""
        done = self.outbox.mark_dead(message.id, self.me, self.clock.now(), code, error)
        return "dead" if done else "lost"

    def _doubtful(self, message: OutboxMessage, error: NobodyKnows) -> Fate:
        """Try a warning again; leave a digest: a letter that comes twice is a nuisance."""
        warns = message.kind in TWICE_IS_BETTER and message.attempts < DOUBTFUL_TRIES
        if warns or error.safe_again:
            return self.later(message, error)
        now = self.clock.now()
        done = self.outbox.mark_unknown(message.id, self.me, now, error.code, error.error)
        return "unknown" if done else "lost"


def send_due(
    outbox: Outbox,
    channels: Mapping[Channel, ChannelOut],
    clock: Clock,
    me: str,
    *,
    rng: Random,
    lease: timedelta = LEASE,
    limit: int = LIMIT,
) -> SendReport:
    """Send one batch a channel of what is due; call again while ``report.sent`` is not 0.

    Parameters
    ----------
    outbox
        Where messages wait.
    channels
        The ways out; the connection of each is kept for the batch and closed after it.
    clock
        The time.
    me
        Name of this sender, that no other process has.
    rng
        For the waits.
    lease
        For how long messages are ours; a message is not begun near its end.
    limit
        How many at most of each channel.

    Returns
    -------
    SendReport
        What became of the batches; a channel that refuses us stops no other.
    """
    report = SendReport()
    for channel, out in channels.items():
        state = outbox.state(channel)
        many = allowed(state, clock.now(), limit)
        if many == 0:
            continue
        sender = Sender(outbox, out, clock, me, rng)
        until = clock.now() + lease - min(LONGEST_SEND, lease / 2)
        batch = outbox.claim(me, clock.now(), lease, many, channel)
        try:
            _send_batch(sender, channel, batch, until, report)
        finally:
            out.close()
    return report


def _send_batch(
    sender: Sender,
    channel: Channel,
    batch: list[OutboxMessage],
    until: datetime,
    report: SendReport,
) -> None:
    """Send what was claimed of one channel, up to the end of the lease or a failure of it all."""
    for place, message in enumerate(batch):
        if sender.clock.now() >= until:
            for left in batch[place:]:
                _count(report, sender.waits(left, sender.clock.now()))
            break
        try:
            fate = sender.one(message)
        except (ChannelRefused, Unreachable) as error:
            refused = isinstance(error, ChannelRefused)
            _fail(sender, channel, error, refused=refused)
            _count(report, sender.later(message, error))
            for other in batch[place + 1 :]:
                _count(report, sender.waits(other, sender.clock.now()))
            if refused:
                report.stopped[channel] = error.error
            break
        _count(report, fate)
        if fate == "sent":
            state = sender.outbox.state(channel)
            if state.failures:
                sender.outbox.put_state(channel, after_success(state, sender.clock.now()))


def _fail(sender: Sender, channel: Channel, error: SendError, *, refused: bool) -> None:
    """Keep that a channel failed, so that all senders leave it alone for a while."""
    now = sender.clock.now()
    state = after_failure(sender.outbox.state(channel), error.error, now, refused=refused)
    sender.outbox.put_state(channel, state)


def _count(report: SendReport, fate: Fate) -> None:
    """Add one message to the report; a lost lease is told, for it may mean a double."""
    setattr(report, fate, getattr(report, fate) + 1)
    if fate == "lost":
        _log.warning("lease_lost_before_mark")
