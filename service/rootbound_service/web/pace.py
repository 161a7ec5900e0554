"""How often one caller may ask: links are guessed by nobody, and hooks flood nothing."""

from __future__ import annotations

from collections import OrderedDict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.clock import Clock

WINDOW = timedelta(minutes=1)
USUAL = 120
"""Requests a minute from one address."""
HOOKS = 1200
"""Of a provider, whose calls come in bursts."""
FREE = ("/healthz", "/metrics")
KEPT = 20_000
"""Addresses remembered; the oldest are forgotten."""


class Pace:
    """Counts requests by address in windows of a minute.

    Parameters
    ----------
    clock
        The time.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._counts: OrderedDict[tuple[str, bool], tuple[datetime, int]] = OrderedDict()

    def allows(self, address: str, path: str) -> bool:
        """Count a request and tell whether it may be answered.

        Parameters
        ----------
        address
            Of the caller.
        path
            What is asked for.
        """
        if path in FREE:
            return True
        key, now = (address, path.startswith("/in/")), self._clock.now()
        begun, count = self._counts.get(key, (now, 0))
        if now - begun >= WINDOW:
            begun, count = now, 0
        self._counts[key] = (begun, count + 1)
        self._counts.move_to_end(key)
        while len(self._counts) > KEPT:
            self._counts.popitem(last=False)
        return count < (HOOKS if key[1] else USUAL)
