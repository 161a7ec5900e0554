"""One run of the command line: its global options, and the service when a command needs it."""

from __future__ import annotations

import os
from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from rootbound_service.cli.service import OpenService, Service
    from rootbound_service.clock import Clock
    from rootbound_service.settings import Settings

DEBUG = "ROOTBOUND_DEBUG"


@dataclass(frozen=True, slots=True)
class Session:
    """What every command shares; tests hand in their own parts."""

    data_dir: str | None = None
    database: str | None = None
    clock: Clock | None = None
    opener: OpenService | None = None

    def now(self) -> datetime:
        """What time it is, aware and in UTC."""
        return self._clock().now()

    @contextmanager
    def service(self, *, log: bool = False) -> Generator[Service]:
        """Open the service for one command and close it after; ``log`` tells what it does."""
        settings = self.settings()
        with self._opener(settings, log=log)(settings, self._clock()) as service:
            yield service

    def settings(self) -> Settings:
        """Read the settings: the environment, overridden by the global options."""
        from rootbound_service.settings import load_settings

        env = {name: value for name, value in os.environ.items() if name != DEBUG}
        if self.database:
            env.pop("ROOTBOUND_DATABASE_URL_FILE", None)
        return load_settings(env | self.settings_env())

    def settings_env(self) -> dict[str, str]:
        """The global options as the environment of another process says them."""
        told = {"ROOTBOUND_DATA_DIR": self.data_dir, "ROOTBOUND_DATABASE_URL": self.database}
        return {name: value for name, value in told.items() if value}

    def _clock(self) -> Clock:
        from rootbound_service.clock import SystemClock

        return self.clock or SystemClock()

    def _opener(self, settings: Settings, *, log: bool) -> OpenService:
        if self.opener:
            return self.opener
        from rootbound_service.logs import log_to_stderr
        from rootbound_service.wiring import open_service

        log_to_stderr(whole=log, form=settings.log_format)
        return open_service


def session_of(ctx: typer.Context) -> Session:
    """Give the session of a command's context."""
    return ctx.obj if isinstance(ctx.obj, Session) else Session()


def start(ctx: typer.Context, data_dir: str | None, database: str | None) -> None:
    """Put the global options into the session, before any command runs."""
    ctx.obj = replace(session_of(ctx), data_dir=data_dir, database=database)
