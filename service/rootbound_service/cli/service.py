"""What the commands ask of the service: wiring gives the real one, tests a small fake."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from datetime import date
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from rootbound_service.clock import Clock
    from rootbound_service.records import Channel
    from rootbound_service.settings import Settings
    from rootbound_service.wiring import Parts

Progress = Callable[[int, int], None]
"""Is told how many are done, and of how many."""


class NightResult(Protocol):
    """What a night came to."""

    @property
    def fields_ok(self) -> int:
        """Fields computed."""
        ...

    @property
    def fields_failed(self) -> int:
        """Fields that could not be."""
        ...

    @property
    def notes(self) -> int:
        """Notes decided."""
        ...

    @property
    def messages(self) -> int:
        """Messages put in the outbox."""
        ...

    @property
    def failures(self) -> tuple[str, ...]:
        """One sentence for each field that failed."""
        ...

    @property
    def told(self) -> tuple[str, ...]:
        """What the weather's sources did, a sentence each."""
        ...


class SendResult(Protocol):
    """What a sending came to, in messages."""

    @property
    def sent(self) -> int:
        """Taken by the mail server."""
        ...

    @property
    def retried(self) -> int:
        """Put off, to be tried again."""
        ...

    @property
    def dead(self) -> int:
        """Refused for good, or too old."""
        ...

    @property
    def unknown(self) -> int:
        """Cut off in the middle: nobody knows whether they went."""
        ...

    @property
    def lost(self) -> int:
        """Gone, but possibly twice."""
        ...

    @property
    def waiting(self) -> int:
        """Put back untried."""
        ...

    @property
    def suppressed(self) -> int:
        """Stopped by their reader."""
        ...

    @property
    def stopped(self) -> Mapping[Channel, str]:
        """Channels that refuse us, with what they say."""
        ...


class Service(Protocol):
    """The service as the commands see it."""

    @property
    def engine(self) -> Engine:
        """The database."""
        ...

    @property
    def clock(self) -> Clock:
        """What time it is."""
        ...

    @property
    def parts(self) -> Parts:
        """Everything a night needs, wired together."""
        ...

    def nightly(self, night: date, progress: Progress | None = None) -> NightResult:
        """Gather, compute, decide and record one night."""
        ...

    def send(self) -> SendResult:
        """Send what waits in the outbox."""
        ...

    def digest(self, week: str | None) -> int:
        """Put the weekly letters in the outbox; how many."""
        ...

    def run_worker(self) -> None:
        """Run nights, sending and digests by the clock until stopped."""
        ...


OpenService = Callable[["Settings", "Clock"], AbstractContextManager[Service]]
