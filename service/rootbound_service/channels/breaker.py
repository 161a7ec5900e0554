"""When a channel that fails is left alone, and when it is tried again. Pure functions of values.

One that refuses us (log-in, policy) is left alone at once: every further try makes it worse.
One that does not answer is given three batches. After the pause a single message goes first.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from rootbound_service.store.channel_state import ChannelState

PATIENCE = 3
"""Batches in a row without an answer, after which a channel is left alone."""
PAUSE, LONGEST = timedelta(minutes=10), timedelta(hours=2)


def after_failure(state: ChannelState, why: str, now: datetime, *, refused: bool) -> ChannelState:
    """State after a batch that the channel did not take.

    Parameters
    ----------
    state
        Before.
    why
        What the other side said; holds no address.
    now
        The time.
    refused
        Whether it refuses us, rather than not answering.
    """
    failures = state.failures + 1
    opens = failures if refused else failures - PATIENCE + 1
    until = None if opens < 1 else now + min(PAUSE * 2 ** min(opens - 1, 8), LONGEST)
    return ChannelState(failures, until, why, now)


def after_success(state: ChannelState, now: datetime) -> ChannelState:
    """State after a message was taken: as new.

    Parameters
    ----------
    state
        Before.
    now
        The time.
    """
    return state if not state.failures else ChannelState(changed_at=now)


def allowed(state: ChannelState, now: datetime, limit: int) -> int:
    """How many messages may be tried now: none while open, one after a pause.

    Parameters
    ----------
    state
        Of the channel.
    now
        The time.
    limit
        As many as there are in an ordinary batch.
    """
    if state.left_alone(now):
        return 0
    return 1 if state.open_until is not None else limit
