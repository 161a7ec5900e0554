"""Turns at public services: how far apart requests to one host are, and how many a run may make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.public.trouble import Unavailable

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True, slots=True)
class Pace:
    """How hard one source may be asked."""

    min_interval_s: float = 0.0
    """Between the starts of two requests to its host. [s]"""
    most_per_run: int | None = None
    """How many requests a run may make of its host, retries counted; None: any number."""


class Turns:
    """Keeps requests to one host apart, and counts them.

    Parameters
    ----------
    sleep
        Waits some seconds.
    now
        Seconds of a clock that is never set; the hands of a wall clock may jump.
    """

    def __init__(self, sleep: Callable[[float], None], now: Callable[[], float]) -> None:
        self.asked: dict[str, int] = {}
        self._sleep = sleep
        self._now = now
        self._last: dict[str, float] = {}

    def take(self, host: str, pace: Pace, who: str) -> None:
        """Wait for our turn at a host, and count the request.

        Parameters
        ----------
        host
            Whom we are about to ask.
        pace
            How hard it may be asked.
        who
            The service and the cell, for the error's sentence.

        Raises
        ------
        Unavailable
            If the run has asked often enough.
        """
        asked = self.asked.get(host, 0)
        if pace.most_per_run is not None and asked >= pace.most_per_run:
            what = f"we have asked {asked} times in this run; the rest waits for the next"
            raise Unavailable(who, what, retry_later=True)
        if host in self._last:
            since = max(0.0, self._now() - self._last[host])
            if since < pace.min_interval_s:
                self._sleep(pace.min_interval_s - since)
        self.count(host)

    def count(self, host: str) -> None:
        """Note one request that goes out now.

        Parameters
        ----------
        host
            To whom.
        """
        self.asked[host] = self.asked.get(host, 0) + 1
        self._last[host] = self._now()
