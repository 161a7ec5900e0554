"""When a letter is written and for how long it is worth sending."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

NOTE_LIFE = timedelta(hours=36)
"""After so long a note is old news: the next night and the digest tell better."""
DIGEST_LIFE = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class Occasion:
    """What all letters of one night share.

    Parameters
    ----------
    now
        Moment of the decision, aware UTC; becomes the letter's date.
    members
        Past summers in the outlook; 0 when not known, then chances are told in per cent.
    available_at
        Earliest moment to send, for quiet hours; None: at once.
    linked
        Whether there is a web address, so that letters may have links.
    """

    now: datetime
    members: int = 0
    available_at: datetime | None = None
    linked: bool = False

    @property
    def due(self) -> datetime:
        """The earliest moment to send."""
        return self.available_at or self.now
