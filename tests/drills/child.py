"""The command ``rootbound`` in a process of its own, by a clock that stands in a file.

``python -m drills.child CLOCK COMMAND...`` says ``ready`` once the service is open; what it does
from there on is the service's own. ``DRILL_EVERY_S`` lets a worker look more often what is due,
``DRILL_WAL`` lets SQLite keep a write-ahead log whatever its version: of use to one process alone.
"""

from __future__ import annotations

import faulthandler
import os
import signal
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Event

from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import Clock
from rootbound_service.logs import log_to_stderr
from rootbound_service.settings import Settings
from rootbound_service.store import engine
from rootbound_service.store.sqlite_module import SqliteChoice
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker.schedule import JOBS, run_scheduler

EVERY, WAL = "DRILL_EVERY_S", "DRILL_WAL"


class FileClock:
    """A clock that others set, by writing the time into its file."""

    def __init__(self, file: Path) -> None:
        self._file = file

    def now(self) -> datetime:
        return datetime.fromisoformat(self._file.read_text(encoding="ascii")).astimezone(UTC)


class Hasty(Service):
    """The service with a worker that looks every second what is due, not every few minutes."""

    def run_worker(self, stop: Event | None = None) -> None:
        every = int(os.environ[EVERY])
        run_scheduler(self, stop, [replace(job, every_s=every) for job in JOBS])


@contextmanager
def opened(settings: Settings, clock: Clock) -> Iterator[Service]:
    """Open the service as the command does, and say so."""
    log_to_stderr(whole=True)
    if WAL in os.environ:
        engine.choose_sqlite = lambda: SqliteChoice(sqlite3, wal=True)
    with open_service(settings, clock) as service:
        print("ready", flush=True)
        yield Hasty(service.parts) if EVERY in os.environ else service


def main() -> None:
    """Run one command."""
    clock, *command = sys.argv[1:]
    faulthandler.register(signal.SIGUSR1, file=2)  # a drill that hangs asks where
    session = Session(clock=FileClock(Path(clock)), opener=opened)
    app(command, prog_name="rootbound", obj=session)


if __name__ == "__main__":
    main()
