"""What a night that is run again tells: nothing twice, and nothing that no longer holds.

Services mend, so a night that lacked weather is run again before anybody is awake. What its
first run wrote waits for the morning then, and is written anew if the night has come to
something else: still one message, of everything, at eight. Pure functions of values.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Earlier:
    """What earlier runs of a night have written to one contact."""

    ids: tuple[int, ...] = ()
    """Messages that still wait."""
    pending: int = 0
    """How many of them are to be sent; the others are kept for the digest."""
    waiting: Mapping[str, int] = field(default_factory=dict[str, int])
    """Notes in them, each with its season."""
    gone: frozenset[str] = frozenset()
    """Notes in messages that were sent, or that a sender has in hand."""


@dataclass(frozen=True, slots=True)
class Again:
    """What to write to one contact."""

    keys: frozenset[str]
    """Notes to tell; none: no message."""
    anew: bool = False
    """Whether this takes the place of what waits."""


def what_now(earlier: Earlier | None, holds: Collection[str], unanswered: Collection[int]) -> Again:
    """Decide what a contact is written tonight, after what earlier runs have written.

    Parameters
    ----------
    earlier
        What they have written to this contact; None: nothing.
    holds
        Keys of the notes that hold by this run and that the contact is to hear.
    unanswered
        Seasons that this run has no answer for: what was said of them stays said.
    """
    if earlier is None:
        return Again(frozenset(holds))
    open_, waiting = frozenset(holds) - earlier.gone, frozenset(earlier.waiting)
    lost = [season for key, season in earlier.waiting.items() if key not in open_]
    if not earlier.ids or any(season in unanswered for season in lost):
        return Again(open_ - waiting)
    if open_ == waiting:
        return Again(frozenset())
    return Again(open_, anew=True)
