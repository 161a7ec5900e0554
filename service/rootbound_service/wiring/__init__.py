"""Builds the real parts for the commands, the worker and the demo; tests build fakes."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import partial
from random import SystemRandom
from typing import TYPE_CHECKING
from urllib.parse import urlsplit
from uuid import uuid4

from sqlalchemy import create_engine

from rootbound_service.channels.sending import StoreOutbox
from rootbound_service.errors import ServiceError
from rootbound_service.nights.parts import NightReport
from rootbound_service.public.http import Caller, Patience
from rootbound_service.public.order import NEEDS, Need, Order, read_order
from rootbound_service.secret import links_of
from rootbound_service.soil.build import SOIL, build_soils
from rootbound_service.store.engine import make_engine
from rootbound_service.store.migrate import migrate
from rootbound_service.weather.build import (
    DAYS,
    FORECAST,
    build_feeds,
    build_forecasts,
    build_shelf,
)
from rootbound_service.weather.forecast.shelf import ForecastShelf
from rootbound_service.weather.normals_shelf import NormalsShelf

if TYPE_CHECKING:
    from threading import Event

    from sqlalchemy import Engine

    from rootbound_service.channels.send import SendReport
    from rootbound_service.clock import Clock
    from rootbound_service.settings import Settings
    from rootbound_service.soil.profile import SoilSource
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.forecast.day import ForecastSource

LOOPBACK = ("127.0.0.1", "localhost", "::1")
POLITE_PAUSE_S = 1.0
SHORT_S = 0.05
KNOWN: dict[Need, tuple[str, ...]] = {"days": DAYS, "forecast": FORECAST, "soil": SOIL}
"""Every source there is, by what it is for."""


@dataclass(frozen=True, slots=True)
class Parts:
    """Everything a night needs, wired together."""

    settings: Settings
    clock: Clock
    engine: Engine
    caller: Caller
    order: Order
    """Which source is asked for what, and where."""
    feeds: dict[str, Feed]
    forecast_sources: dict[str, ForecastSource]
    forecasts: ForecastShelf
    soils: dict[str, SoilSource]
    normals: NormalsShelf


@dataclass(frozen=True, slots=True)
class Service:
    """The service as commands, worker and demo use it."""

    parts: Parts
    leaving: Callable[[], bool] = lambda: False
    """Asked by what takes long, whether the process is to end."""

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
        self,
        night: date,
        progress: Callable[[int, int], None] | None = None,
        *,
        past: bool = True,
    ) -> NightReport:
        """Gather, compute, decide and record one night; ``past``: fetch past years as well."""
        from rootbound_service.nightly import run_night
        from rootbound_service.wiring.plant import plant_of

        plant = partial(plant_of, self.parts)
        return run_night(
            self.parts, night, progress, past=past, plant=plant, cancelled=self.leaving
        )

    def send(self) -> SendReport:
        """Send what is due in the outbox."""
        from rootbound_service.channels.build import build_channels
        from rootbound_service.channels.send import send_due

        channels = build_channels(self.settings, links_of(self.settings))
        me = f"sender-{uuid4().hex[:12]}"  # a sender that starts anew must not own old leases
        return send_due(StoreOutbox(self.engine), channels, self.clock, me, rng=SystemRandom())

    def digest(self, week: str | None) -> int:
        """Put the weekly letters in the outbox; how many are new."""
        from rootbound_service.weekly import night_of_week, write_digests

        return write_digests(self.parts, night_of_week(week, self.clock.now().date()))

    def run_worker(self, stop: Event | None = None) -> None:
        """Run nights, sending and letters by the clock until stopped."""
        from rootbound_service.worker.schedule import run_scheduler

        run_scheduler(self, stop)


def caller_of(settings: Settings, order: Order, patience: Patience | None) -> Caller:
    """Carry requests to the services that the order names.

    Parameters
    ----------
    settings
        Where the services are, and how long to wait for an answer.
    order
        Which of them are asked at all.
    patience
        None: one request a second to each host at the most, as fast as may be where all of
        them are on this machine.
    """
    sleep = _hardly if all_on_this_machine(settings, order) else time.sleep
    usual = patience or patience_of(settings, order)
    return Caller(usual, sleep, user_agent=user_agent_of(settings))


def patience_of(settings: Settings, order: Order) -> Patience:
    """Patience with the services: polite to public ones, brisk to those on this machine.

    Parameters
    ----------
    settings
        Where they are, and how long to wait for an answer.
    order
        Which of them are asked at all.
    """
    home = all_on_this_machine(settings, order)
    return Patience(timeout_s=settings.http_timeout_s, pause_s=0.0 if home else POLITE_PAUSE_S)


def all_on_this_machine(settings: Settings, order: Order) -> bool:
    """Tell whether every service that may be asked runs here, as the stand-ins do.

    Parameters
    ----------
    settings
        Where the services are.
    order
        Which of them are named.
    """
    named = {name for need in NEEDS for name in order.named(need)}
    known = {name: getattr(settings, f"{name}_url", "") for name in named}
    hosts = {urlsplit(url).hostname for url in known.values()}
    return bool(hosts) and hosts <= set(LOOPBACK)


def _hardly(seconds: float) -> None:
    """Wait a moment instead: nobody else uses a service on this machine."""
    time.sleep(min(seconds, SHORT_S))


def user_agent_of(settings: Settings) -> str:
    """How we name ourselves to the services: with a contact, as some of them insist.

    Parameters
    ----------
    settings
        The contact, else the operator's address, else the sender's.
    """
    contact = settings.contact or settings.operator_email or settings.mail_from
    return f"rootbound ({contact})"


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
    settings.data_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    order = read_order(settings.sources_file, KNOWN)
    engine = make_engine(settings.database_url)
    caller = caller_of(settings, order, patience)
    try:
        if settings.auto_migrate:
            migrate(engine)
        yield Service(_parts(settings, clock, engine, caller, order))
    finally:
        caller.close()
        engine.dispose()


def parts_at(settings: Settings, clock: Clock) -> Parts:
    """Wire the parts of a worker that reads stored weather, and asks nobody.

    Parameters
    ----------
    settings
        Where the weather is.
    clock
        The coordinator's time.
    """
    order = read_order(settings.sources_file, KNOWN)
    engine = create_engine("sqlite://")  # never asked: only the coordinator touches the database
    return _parts(settings, clock, engine, caller_of(settings, order, None), order)


def _parts(settings: Settings, clock: Clock, engine: Engine, caller: Caller, order: Order) -> Parts:
    """The parts of a night, made from the settings."""
    return Parts(
        settings=settings,
        clock=clock,
        engine=engine,
        caller=caller,
        order=order,
        feeds=build_feeds(settings, order, caller),
        forecast_sources=build_forecasts(settings, order, caller),
        forecasts=build_shelf(settings),
        soils=build_soils(settings, order, caller),
        normals=NormalsShelf(settings.history_years),
    )


__all__ = ["Parts", "Service", "ServiceError", "open_service", "parts_at"]
