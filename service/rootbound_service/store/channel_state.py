"""The circuit breaker of each channel, shared by all senders."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from rootbound_service.records import Channel
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import channel_state


@dataclass(frozen=True, slots=True)
class ChannelState:
    """How a channel stands."""

    failures: int = 0
    """In a row."""
    open_until: datetime | None = None
    """Nothing is sent before; None: it works."""
    why: str = ""
    changed_at: datetime | None = None

    def left_alone(self, now: datetime) -> bool:
        """Whether nothing is sent by it now."""
        return self.open_until is not None and now < self.open_until


def channel_states(conn: Connection) -> dict[str, ChannelState]:
    """Give the state of every channel that ever failed.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    return {
        row.channel: ChannelState(row.failures, row.open_until, row.why, row.changed_at)
        for row in conn.execute(select(channel_state))
    }


def put_channel_state(conn: Connection, channel: Channel, state: ChannelState) -> None:
    """Keep how a channel stands.

    Parameters
    ----------
    conn
        The caller's transaction.
    channel
        Which.
    state
        With the time of the change.
    """
    values: dict[str, Any] = {
        "failures": state.failures,
        "open_until": state.open_until,
        "why": state.why,
        "changed_at": state.changed_at,
    }
    put = insert_into(conn, channel_state).values({"channel": channel} | values)
    conn.execute(put.on_conflict_do_update(index_elements=["channel"], set_=values))
