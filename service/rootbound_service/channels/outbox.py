"""Where messages wait, as the sender sees it; the store has the real one."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Protocol

from rootbound_service.records import OutboxMessage


class Outbox(Protocol):
    """Where messages wait; what each call does stands in ``store.outbox``."""

    def claim(self, me: str, now: datetime, lease: timedelta, limit: int) -> list[OutboxMessage]:
        """Take messages that are due."""
        ...

    def first_message_key(self, thread_key: str, person_id: int | None) -> str | None:
        """Tell the dedupe key of a thread's first message."""
        ...

    def mark_sent(self, message_id: int, me: str, now: datetime, provider_id: str | None) -> bool:
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
