"""Where messages wait, as the sender sees it; the store has the real one."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Protocol

from rootbound_service.records import Channel, OutboxMessage
from rootbound_service.store.channel_state import ChannelState
from rootbound_service.store.delivery import Taken


class Outbox(Protocol):
    """Where messages wait; what each call does stands in ``store.claiming`` and ``delivery``."""

    def claim(
        self, me: str, now: datetime, lease: timedelta, limit: int, channel: Channel
    ) -> list[OutboxMessage]:
        """Take messages of a channel that are due."""
        ...

    def still_wanted(self, message: OutboxMessage, me: str) -> bool:
        """Look once more whether its reader wants it."""
        ...

    def put_back(self, message_id: int, me: str, available_at: datetime) -> bool:
        """Put it back untried; False where the lease was lost."""
        ...

    def first_message_key(self, thread_key: str, person_id: int | None) -> str | None:
        """Tell the dedupe key of a thread's first message."""
        ...

    def mark_sent(self, message_id: int, me: str, now: datetime, taken: Taken) -> bool:
        """Note that it was accepted; False where the lease was lost."""
        ...

    def mark_retry(
        self,
        message_id: int,
        me: str,
        now: datetime,
        available_at: datetime,
        code: int | None,
        error: str,
    ) -> bool:
        """Put it back for later; False where the lease was lost."""
        ...

    def mark_dead(
        self, message_id: int, me: str, now: datetime, code: int | None, error: str
    ) -> bool:
        """Give it up; False where the lease was lost."""
        ...

    def mark_unknown(
        self, message_id: int, me: str, now: datetime, code: int | None, error: str
    ) -> bool:
        """Note that nobody knows whether it arrived; False where the lease was lost."""
        ...

    def state(self, channel: Channel) -> ChannelState:
        """How the channel stands."""
        ...

    def put_state(self, channel: Channel, state: ChannelState) -> None:
        """Keep how the channel stands."""
        ...
