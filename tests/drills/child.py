"""The command ``rootbound`` in a process of its own, by a clock that stands in a file.

``python -m drills.child CLOCK COMMAND...`` says ``ready`` once the service is open, and when a
night is begun, computed and over; what it does is the service's own. ``DRILL_EVERY_S`` lets a
worker look more often what is due, ``DRILL_ASK_S`` who leads; ``DRILL_WAL`` lets SQLite keep a
write-ahead log whatever its version: of use to one process alone.
"""

from __future__ import annotations

import faulthandler
import os
import signal
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from threading import Event
from typing import Any

from rootbound_service import nightly
from rootbound_service.cli.app import app
from rootbound_service.cli.session import Session
from rootbound_service.clock import Clock
from rootbound_service.logs import log_to_stderr
from rootbound_service.settings import Settings
from rootbound_service.store import engine
from rootbound_service.store.sqlite_module import SqliteChoice
from rootbound_service.wiring import Service, open_service
from rootbound_service.worker import lead
from rootbound_service.worker.schedule import JOBS, Job, run_scheduler

EVERY, ASK, WAL = "DRILL_EVERY_S", "DRILL_ASK_S", "DRILL_WAL"
BEGUN, COMPUTED, OVER = "night begun", "night computed", "night over"
TICK = "tick"
"""Lines that a process says, each with the machine's time. [s]"""


class FileClock:
    """A clock that others set, by writing the time into its file."""

    def __init__(self, file: Path) -> None:
        self._file = file

    def now(self) -> datetime:
        return datetime.fromisoformat(self._file.read_text(encoding="ascii")).astimezone(UTC)


class Heard(Service):
    """The service, which says what it begins; its worker looks as often as it is told."""

    def nightly(self, night: date, *more: Any, **how: Any) -> Any:
        say(BEGUN)
        report = super().nightly(night, *more, **how)
        say(OVER)
        return report

    def run_worker(self, stop: Event | None = None) -> None:
        every = os.environ.get(EVERY)
        jobs = [_heard(job, int(every) if every else job.every_s) for job in JOBS]
        run_scheduler(self, stop, jobs)


def say(what: str) -> None:
    """Say it in one piece, whatever another thread says."""
    sys.stdout.flush()
    os.write(1, f"{what} {time.monotonic():.6f}\n".encode())


def _heard(job: Job, every_s: int) -> Job:
    def tick(service: Service) -> object:
        say(TICK)
        return job.tick(service)

    return replace(job, tick=tick, every_s=every_s)


def _saying(what: str, function: Callable[..., Any]) -> Callable[..., Any]:
    def said(*given: Any) -> Any:
        say(what)
        return function(*given)

    return said


@contextmanager
def opened(settings: Settings, clock: Clock) -> Iterator[Service]:
    """Open the service as the command does, and say so."""
    log_to_stderr(whole=True)
    nightly.record = _saying(COMPUTED, nightly.record)
    if ASK in os.environ:
        for waits in (lead.wait_for_lead, lead.hold):
            waits.__defaults__ = (float(os.environ[ASK]),)
    if WAL in os.environ:
        engine.choose_sqlite = lambda: SqliteChoice(sqlite3, wal=True)
    with open_service(settings, clock) as service:
        print("ready", flush=True)
        yield Heard(service.parts)


def main() -> None:
    """Run one command."""
    clock, *command = sys.argv[1:]
    faulthandler.register(signal.SIGUSR1, file=2)  # a drill that hangs asks where
    session = Session(clock=FileClock(Path(clock)), opener=opened)
    app(command, prog_name="rootbound", obj=session)


if __name__ == "__main__":
    main()
