"""Builds the real parts for the commands, the worker and the demo; tests build fakes."""

from __future__ import annotations

from collections.abc import Callable, Generator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from random import SystemRandom
from typing import TYPE_CHECKING
from urllib.parse import urlsplit
from uuid import uuid4

from rootbound_service.errors import ServiceError
from rootbound_service.nights.parts import NightReport
from rootbound_service.notes.sending import StoreOutbox, letter_head
from rootbound_service.store.engine import make_engine
from rootbound_service.store.migrate import migrate
from rootbound_service.weather.answers import AnswerShelf
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.http import Caller, Patience
from rootbound_service.weather.nasa_power import NasaPower

if TYPE_CHECKING:
    from threading import Event

    from sqlalchemy import Engine

    from rootbound_service.clock import Clock
    from rootbound_service.notes.send import SendReport
    from rootbound_service.settings import Settings

LOOPBACK = ("127.0.0.1", "localhost", "::1")
POLITE_PAUSE_S = 1.0


@dataclass(frozen=True, slots=True)
class Parts:
    """Everything a night needs, wired together."""

    settings: Settings
    clock: Clock
    engine: Engine
    grid: GridStore
    source: NasaPower
    answers: AnswerShelf


@dataclass(frozen=True, slots=True)
class Service:
    """The service as commands, worker and demo use it."""

    parts: Parts

    @property
    def engine(self) -> Engine:
        """The database."""
        return self.parts.engine

    @property
    def settings(self) -> Settings:
        """The settings."""
        return self.parts.settings

    @property
    def clock(self) -> Clock:
        """What time it is."""
        return self.parts.clock

    def nightly(
        self, night: date, progress: Callable[[int, int], None] | None = None
    ) -> NightReport:
        """Gather, compute, decide and record one night."""
        from rootbound_service.nightly import run_night

        return run_night(self.parts, night, progress)

    def send(self) -> SendReport:
        """Send what is due in the outbox."""
        from rootbound_service.notes.send import send_due
        from rootbound_service.notes.smtp import SmtpTransport

        s = self.settings
        transport = SmtpTransport(
            host=s.smtp_host,
            port=s.smtp_port,
            envelope_from=s.mail_from,
            user=s.smtp_user,
            password=s.smtp_password.get_secret_value() if s.smtp_password else None,
            starttls=s.smtp_starttls,
            timeout_s=s.smtp_timeout_s,
        )
        outbox = StoreOutbox(self.engine)
        me = f"sender-{uuid4().hex[:12]}"  # a sender that starts anew must not own old leases
        return send_due(outbox, transport, self.clock, me, head=letter_head(s), rng=SystemRandom())

    def digest(self, week: str | None) -> int:
        """Put the weekly letters in the outbox; how many are new."""
        from rootbound_service.weekly import night_of_week, write_digests

        return write_digests(self.parts, night_of_week(week, self.clock.now().date()))

    def run_worker(self, stop: Event | None = None) -> None:
        """Run nights, sending and letters by the clock until stopped."""
        from rootbound_service.worker.schedule import run_scheduler

        run_scheduler(self, stop)


def patience_of(settings: Settings) -> Patience:
    """Patience with the weather service: polite to a public one, brisk to one on this machine.

    Parameters
    ----------
    settings
        Where the service is, and how long to wait for it.
    """
    host = urlsplit(settings.nasa_power_url).hostname or ""
    pause = 0.0 if host in LOOPBACK else POLITE_PAUSE_S
    return Patience(timeout_s=settings.http_timeout_s, pause_s=pause)


@contextmanager
def open_service(
    settings: Settings, clock: Clock, patience: Patience | None = None
) -> Generator[Service]:
    """Open the service and close what it holds afterwards.

    Parameters
    ----------
    settings
        Where everything is.
    clock
        The only thing that knows the time.
    patience
        With the weather service; None: as the settings say, and polite.

    Raises
    ------
    ServiceError
        If the database cannot be opened.
    """
    settings.data_dir.mkdir(parents=True, exist_ok=True)
    engine = make_engine(settings.database_url)
    caller = Caller(patience or patience_of(settings))
    try:
        if settings.auto_migrate:
            migrate(engine)
        yield Service(
            Parts(
                settings=settings,
                clock=clock,
                engine=engine,
                grid=GridStore(settings.data_dir / "weather" / "nasa_power.zarr"),
                source=NasaPower(caller, settings.nasa_power_url, settings.nasa_power_user),
                answers=AnswerShelf(settings.data_dir / "answers" / "nasa_power"),
            )
        )
    finally:
        caller.close()
        engine.dispose()


__all__ = ["Parts", "Service", "ServiceError", "open_service"]
