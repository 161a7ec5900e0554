"""How often one token may call."""

from __future__ import annotations

from datetime import datetime, timedelta
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.clock import Clock

WINDOW = timedelta(minutes=1)
MOST = 600
"""Calls of one token in a minute."""


class Calls:
    """Counts calls by token in windows of a minute.

    Parameters
    ----------
    clock
        The time.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._begun: datetime | None = None
        self._counts: dict[str, int] = {}
        self._lock = Lock()

    def allows(self, token: str) -> bool:
        """Count a call and tell whether it may be answered.

        Parameters
        ----------
        token
            Who calls.
        """
        now = self._clock.now()
        with self._lock:
            if self._begun is None or now - self._begun >= WINDOW:
                self._begun, self._counts = now, {}
            count = self._counts.get(token, 0)
            self._counts[token] = count + 1
        return count < MOST
