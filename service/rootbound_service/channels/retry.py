"""When a message is tried again."""

from __future__ import annotations

from datetime import timedelta
from random import Random

WAITS = (1, 5, 15, 60, 180)
"""Longest wait after the first, second ... failed attempt. [min]"""
LATER = 360
"""Longest wait after every further attempt. [min]"""
LEAST = timedelta(seconds=5)
"""So that a short draw does not fall into the same batch."""
TWICE_IS_BETTER = ("note", "operator")
"""Kinds that had better come twice than not at all."""
DOUBTFUL_TRIES = 2
"""A note whose fate nobody knows is tried again up to this attempt: a warning that comes twice
is better than one that does not come. Later it is left as unknown, for the operator."""


def wait(attempts: int, rng: Random) -> timedelta:
    """Draw the wait before the next attempt: full jitter, so that senders do not march in step.

    Parameters
    ----------
    attempts
        Attempts made so far, the failed one among them. [-]
    rng
        Where the draw comes from.

    Returns
    -------
    timedelta
        Between nothing and the table's wait.
    """
    longest = WAITS[attempts - 1] if 1 <= attempts <= len(WAITS) else LATER
    return max(timedelta(minutes=rng.uniform(0, longest)), LEAST)
