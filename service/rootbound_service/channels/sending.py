"""The sender's real outbox: each step in a transaction of its own, none held while sending."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rootbound_service.channels.email import Letterhead
from rootbound_service.store import outbox as store

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from rootbound_service.records import OutboxMessage
    from rootbound_service.settings import Settings


def letter_head(settings: Settings) -> Letterhead:
    """Return who writes, from the settings."""
    return Letterhead(settings.mail_from, settings.mail_from_name, settings.mail_reply_to)


class StoreOutbox:
    """The store's outbox, for the sender.

    Parameters
    ----------
    engine
        The database.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def claim(self, me: str, now: datetime, lease: timedelta, limit: int) -> list[OutboxMessage]:
        """Take messages that are due."""
        with self._engine.begin() as conn:
            return store.claim(conn, me, now, lease, limit)

    def first_message_key(self, thread_key: str, person_id: int | None) -> str | None:
        """Tell the dedupe key of a thread's first message."""
        with self._engine.execution_options(ro=True).connect() as conn:
            return store.first_message_key(conn, thread_key, person_id=person_id)

    def mark_sent(self, message_id: int, me: str, now: datetime, provider_id: str | None) -> bool:
        """Note that it was accepted."""
        with self._engine.begin() as conn:
            return store.mark_sent(conn, message_id, me, now, provider_id)

    def mark_retry(
        self,
        message_id: int,
        me: str,
        now: datetime,
        available_at: datetime,
        code: int | None,
        error: str,
    ) -> bool:
        """Put it back for later."""
        with self._engine.begin() as conn:
            return store.mark_retry(conn, message_id, me, now, available_at, code, error)

    def mark_dead(
        self, message_id: int, me: str, now: datetime, code: int | None, error: str
    ) -> bool:
        """Give it up."""
        with self._engine.begin() as conn:
            return store.mark_dead(conn, message_id, me, now, code, error)

    def mark_unknown(
        self, message_id: int, me: str, now: datetime, code: int | None, error: str
    ) -> bool:
        """Note that nobody knows whether it arrived."""
        with self._engine.begin() as conn:
            return store.mark_unknown(conn, message_id, me, now, code, error)
