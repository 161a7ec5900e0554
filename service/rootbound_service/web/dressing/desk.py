"""Nights computed again on demand: few at once, each once, and nobody waits long for them."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import BoundedSemaphore, Lock
from typing import TYPE_CHECKING, Literal

import structlog

from rootbound_service.nights.operator import in_short

if TYPE_CHECKING:
    from collections.abc import Hashable

    from rootbound_service.clock import Clock
    from rootbound_service.nights.again import Again, StoredNight

WAIT_S = 3.0
"""So long a page waits for one; then it comes without. Our choice. [s]"""
WAITERS = 2
"""Pages that wait at the same time: the other threads answer everybody else."""
QUEUE = 40
"""Nights that are asked for and not computed yet; further ones are for the next look."""
KEPT = 500
"""Outcomes remembered, some kilobytes each."""
AGAIN_AFTER = timedelta(minutes=10)
"""So long one that failed is left alone."""
_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What asking for a night came to."""

    kind: Literal["same", "moved", "other", "no_weather", "coming", "failed"]
    packed: bytes | None = None


COMING, FAILED = Outcome("coming"), Outcome("failed")


class Dressing:
    """Has nights computed again, one after the other.

    Parameters
    ----------
    compute
        Computes one; called in a thread of its own, never twice at a time.
    keep
        Keeps one that came out the same for whoever opens the field next; in that thread too.
    close
        Ends what computes.
    clock
        The time.
    wait_s
        So long a caller waits at the most. [s]
    """

    def __init__(
        self,
        compute: Callable[[StoredNight], Again],
        keep: Callable[[StoredNight, bytes], None],
        close: Callable[[], None],
        clock: Clock,
        wait_s: float = WAIT_S,
    ) -> None:
        self._compute, self._keep, self._close = compute, keep, close
        self._clock, self._wait_s = clock, wait_s
        self._pool = ThreadPoolExecutor(1, "dressing")
        self._waiters = BoundedSemaphore(WAITERS)
        self._lock = Lock()
        self._closed = False
        self._begun: dict[Hashable, Future[Outcome]] = {}
        self._known: OrderedDict[Hashable, tuple[datetime, Outcome]] = OrderedDict()

    def of(self, stored: StoredNight) -> Outcome:
        """Give what a night comes to, computing it unless that was done or is being done.

        Parameters
        ----------
        stored
            The night.

        Returns
        -------
        Outcome
            ``coming`` where it takes longer than anybody should wait; never an error.
        """
        key = (stored.row, stored.moment)
        with self._lock:
            known = self._known.get(key)
            if known is not None and not self._stale(*known):
                return known[1]
            future = self._begun.get(key)
            if future is None:
                if len(self._begun) >= QUEUE or self._closed:
                    return COMING
                future = self._begun[key] = self._pool.submit(self._work, key, stored)
        return self._waited(future)

    def close(self, *, wait: bool = False) -> None:
        """Begin nothing more, and end what is being computed.

        Parameters
        ----------
        wait
            Let what was begun come to its end first.
        """
        with self._lock:
            self._closed = True
        self._pool.shutdown(wait=wait, cancel_futures=not wait)
        self._close()

    def _stale(self, at: datetime, outcome: Outcome) -> bool:
        """Tell whether one is worth another try: a failure, after a while."""
        tried = outcome.kind in {"failed", "no_weather"}
        return tried and self._clock.now() - at >= AGAIN_AFTER

    def _waited(self, future: Future[Outcome]) -> Outcome:
        if future.done():
            return _result(future, 0.0)
        if not self._waiters.acquire(blocking=False):
            return COMING
        try:
            return _result(future, self._wait_s)
        finally:
            self._waiters.release()

    def _work(self, key: Hashable, stored: StoredNight) -> Outcome:
        """Compute one, in the one thread; whatever goes wrong is an outcome too."""
        try:
            again = self._compute(stored)
            found = Outcome(again.kind, again.packed)
        except Exception as error:  # noqa: BLE001  a page without it is better than none
            if not self._closed:
                _log.warning("not_dressed", season=stored.row.season_id, error=in_short(error))
            found = FAILED
        with self._lock:
            self._begun.pop(key, None)
            self._known[key] = (self._clock.now(), found)
            self._known.move_to_end(key)
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
            if found.kind == "same" and found.packed is not None and not self._closed:
                self._pool.submit(self._put_by, stored, found.packed)  # nobody waits for it
        return found

    def _put_by(self, stored: StoredNight, packed: bytes) -> None:
        """Keep one; a store that cannot be written costs no page."""
        try:
            self._keep(stored, packed)
        except Exception as error:  # noqa: BLE001  it is computed again, no more
            _log.warning("picture_not_kept", error=in_short(error))


def _result(future: Future[Outcome], wait_s: float) -> Outcome:
    try:
        return future.result(wait_s)
    except (TimeoutError, CancelledError):
        return COMING
