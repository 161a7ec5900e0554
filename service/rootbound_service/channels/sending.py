"""The sender's real outbox: each step in a transaction of its own, none held while sending."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rootbound_service.channels.bounces import status_in, what_follows
from rootbound_service.store import claiming, delivery, outbox
from rootbound_service.store.channel_state import ChannelState, channel_states, put_channel_state
from rootbound_service.store.claiming import suppress_reader

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from rootbound_service.records import Channel, OutboxMessage
    from rootbound_service.store.delivery import Taken


class StoreOutbox:
    """The store's outbox, for the sender.

    Parameters
    ----------
    engine
        The database.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def claim(
        self, me: str, now: datetime, lease: timedelta, limit: int, channel: Channel
    ) -> list[OutboxMessage]:
        """Take messages of a channel that are due."""
        with self._engine.begin() as conn:
            return claiming.claim(conn, me, now, lease, limit, channel=channel)

    def still_wanted(self, message: OutboxMessage, me: str) -> bool:
        """Look once more whether its reader wants it."""
        with self._engine.begin() as conn:
            return claiming.still_wanted(conn, message, me)

    def put_back(self, message_id: int, me: str, available_at: datetime) -> bool:
        """Put it back untried."""
        with self._engine.begin() as conn:
            return claiming.put_back(conn, message_id, me, available_at)

    def first_message_key(self, thread_key: str, person_id: int | None) -> str | None:
        """Tell the dedupe key of a thread's first message."""
        with self._engine.execution_options(ro=True).connect() as conn:
            return outbox.first_message_key(conn, thread_key, person_id=person_id)

    def mark_sent(self, message_id: int, me: str, now: datetime, taken: Taken) -> bool:
        """Note that it was accepted."""
        with self._engine.begin() as conn:
            return delivery.mark_sent(conn, message_id, me, now, taken)

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
            return delivery.mark_retry(conn, message_id, me, now, available_at, code, error)

    def mark_dead(
        self, message_id: int, me: str, now: datetime, code: int | None, error: str
    ) -> bool:
        """Give it up; an address that the relay says is dead is written to no more."""
        with self._engine.begin() as conn:
            if (status := status_in(error)) and what_follows("failed", status) == "suppress":
                suppress_reader(conn, message_id, f"refused {status}", now)
            return delivery.mark_dead(conn, message_id, me, now, code, error)

    def mark_unknown(
        self, message_id: int, me: str, now: datetime, code: int | None, error: str
    ) -> bool:
        """Note that nobody knows whether it arrived."""
        with self._engine.begin() as conn:
            return delivery.mark_unknown(conn, message_id, me, now, code, error)

    def state(self, channel: Channel) -> ChannelState:
        """How the channel stands."""
        with self._engine.execution_options(ro=True).connect() as conn:
            return channel_states(conn).get(channel, ChannelState())

    def put_state(self, channel: Channel, state: ChannelState) -> None:
        """Keep how the channel stands."""
        with self._engine.begin() as conn:
            put_channel_state(conn, channel, state)
