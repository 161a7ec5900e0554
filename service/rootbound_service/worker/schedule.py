"""Scheduler and sender in one process: UTC triggers held in memory, one leader for a database."""

from __future__ import annotations

import logging
import signal
import threading
from collections.abc import Callable, Generator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import structlog
from sqlalchemy.exc import SQLAlchemyError

from rootbound_service.clock import SystemClock
from rootbound_service.errors import ServiceError
from rootbound_service.nights.operator import in_short
from rootbound_service.nights.settle import settle
from rootbound_service.store.heartbeats import beat
from rootbound_service.store.leading import leading
from rootbound_service.worker.lead import hold, wait_for_lead
from rootbound_service.worker.months_tick import months_tick
from rootbound_service.worker.second_tick import second_tick
from rootbound_service.worker.ticks import digest_tick, night_tick, send_tick
from rootbound_service.worker.watch_tick import watch_tick
from rootbound_service.worker.weather_ticks import again_tick, past_tick, shelf_tick

if TYPE_CHECKING:
    from pathlib import Path
    from types import FrameType

    from apscheduler.schedulers.background import BackgroundScheduler

    from rootbound_service.store.leading import Lead
    from rootbound_service.wiring import Service

GRACE_S = 6 * 3600
PAUSE_S = 1.0
"""A worker that lost its lead, or finds its data folder held, asks again after that. [s]"""
_log = structlog.get_logger(__name__)

Tick = Callable[["Service"], object]


class FolderHeld(ServiceError):
    """Another worker has the data folder, or a move."""


@dataclass(frozen=True, slots=True)
class Job:
    """One tick, and how often it is asked what is due."""

    name: str
    tick: Tick
    every_s: int
    lane: str
    """Jobs of one lane run one after the other: the letters are written from the night."""


JOBS = (
    Job("past years", past_tick, 120, "compute"),
    Job("night", night_tick, 600, "compute"),
    Job("night again", again_tick, 600, "compute"),
    Job("digest", digest_tick, 600, "compute"),
    Job("second contacts", second_tick, 1800, "compute"),
    Job("months", months_tick, 6 * 3600, "compute"),
    Job("old forecasts", shelf_tick, 24 * 3600, "compute"),
    Job("watch", watch_tick, 600, "watch"),
    Job("send", send_tick, 30, "send"),
)


def run_scheduler(
    service: Service, stop: threading.Event | None = None, jobs: Sequence[Job] = JOBS
) -> None:
    """Run until stopped by Ctrl-C, a termination signal, or ``stop``.

    Where another worker leads the database this one waits, and takes over when that is gone; from
    one that lost its lead and lives it takes over once that has let the data folder go.

    Parameters
    ----------
    service
        The wired service.
    stop
        Ends the run when it is set.
    jobs
        What to run; each once at the start, then at its times.

    Raises
    ------
    ServiceError
        If somebody else holds this data folder at the start: a worker of another database, or a
        move.
    """
    stopped = stop or threading.Event()
    with _on_signal(stopped):
        settle()
        _refuse_if_held(service)
        said = ""
        while (lead := wait_for_lead(service.engine, stopped)) is not None:
            try:
                with one_worker(service.settings.data_dir):
                    said = ""
                    _lead(service, jobs, lead, stopped)
            except FolderHeld as held:
                if said != str(held):
                    said = str(held)
                    _log.warning("worker_waits", why=said)
            finally:
                lead.give_up()
            stopped.wait(PAUSE_S)


def _refuse_if_held(service: Service) -> None:
    """Refuse a start where nobody leads this database and yet its data folder is held.

    Later the same says that a worker which lost its lead still ends a tick: that is waited for.
    """
    with suppress(SQLAlchemyError, OSError), leading(service.engine) as lead:
        if lead is not None:
            with one_worker(service.settings.data_dir):
                return


def _lead(service: Service, jobs: Sequence[Job], lead: Lead, stopped: threading.Event) -> None:
    """Run the jobs until stopped or until somebody else may lead; a tick that runs is let end.

    What takes long is told, and ends where it can be gone on with.
    """
    leaving = threading.Event()

    def leave() -> bool:  # a process that was stopped, or its machine asleep, has lost it unawares
        return leaving.is_set() or not lead.holds()

    scheduler = _scheduler(replace(service, leaving=leave), jobs)
    scheduler.start()
    _log.info("worker_started")
    try:
        hold(lead, stopped)
    finally:
        leaving.set()
        scheduler.shutdown(wait=True)
        _log.info("worker_stopped")


def _scheduler(service: Service, jobs: Sequence[Job]) -> BackgroundScheduler:
    """A scheduler with its jobs, not started."""
    from apscheduler.executors.pool import ThreadPoolExecutor
    from apscheduler.schedulers.background import BackgroundScheduler

    # A night longer than a tick's time is no trouble; a tick that was missed is told elsewhere.
    logging.getLogger("apscheduler.scheduler").setLevel(logging.ERROR)
    lanes = {job.lane: ThreadPoolExecutor(1) for job in jobs}
    scheduler = BackgroundScheduler(timezone="UTC", executors=lanes)
    at_once = SystemClock().now()  # when to ask is the machine's time; what is due, the service's
    for job in jobs:
        scheduler.add_job(
            _guarded(job, service),
            "interval",
            id=job.name,
            name=job.name,
            executor=job.lane,
            seconds=job.every_s,
            next_run_time=at_once,
            coalesce=True,
            max_instances=1,
            misfire_grace_time=GRACE_S,
        )
    return scheduler


def _guarded(job: Job, service: Service) -> Callable[[], None]:
    """A tick whose failure is told in the log and does not end the worker; one done is seen."""

    def run() -> None:
        if service.leaving():
            return  # it waited behind another one
        try:
            job.tick(service)
            with service.engine.begin() as conn:
                beat(conn, f"job {job.name}", service.clock.now())
        except Exception as error:  # noqa: BLE001  one tick never ends the worker
            _log.error("tick_failed", tick=job.name, error=in_short(error))

    return run


@contextmanager
def one_worker(data_dir: Path) -> Generator[None]:
    """Hold the lock that only one worker of a data folder can have.

    Parameters
    ----------
    data_dir
        The data folder.

    Raises
    ------
    FolderHeld
        If another worker holds it.
    """
    import fcntl

    path = data_dir / "worker.lock"
    with path.open("w") as handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise FolderHeld(f"another worker already runs on {data_dir}; stop it first") from None
        yield


@contextmanager
def _on_signal(stop: threading.Event) -> Generator[None]:
    """Set ``stop`` on Ctrl-C or termination, as before afterwards."""

    def ask(_: int, __: FrameType | None) -> None:
        stop.set()

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
