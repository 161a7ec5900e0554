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
BURST = 1200
"""Of a provider: its calls come in bursts, and one-click stops of many readers from one address."""
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

    def allows(self, address: str, path: str, method: str = "GET") -> bool:
        """Count a request and tell whether it may be answered.

        Parameters
        ----------
        address
            Of the caller.
        path
            What is asked for.
        method
            And how: pressing "stop" is never slowed down with the pages.
        """
        if path in FREE:
            return True
        burst = path.startswith("/in/") or (method == "POST" and path.startswith("/u/"))
        key, now = (address, burst), self._clock.now()
        begun, count = self._counts.get(key, (now, 0))
        if now - begun >= WINDOW:
            begun, count = now, 0
        self._counts[key] = (begun, count + 1)
        self._counts.move_to_end(key)
        while len(self._counts) > KEPT:
            self._counts.popitem(last=False)
        return count < (BURST if burst else USUAL)
