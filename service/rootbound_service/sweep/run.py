"""Sweep a job: compute the chunks that are missing, then give every part in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rootbound_service.errors import ServiceError
from rootbound_service.sweep.parts import Parts

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.sweep.executors import Executor
    from rootbound_service.sweep.job import Job


class Cancelled(ServiceError):
    """The sweep was asked to stop; the parts that are done stay."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a sweep is."""

    done: int
    of: int
    before: int
    """Done by an earlier sweep of the same job."""
    seconds: float
    """Since this sweep began. [s]"""

    @property
    def left_s(self) -> float | None:
        """Time left at the pace so far; None before the first chunk of this sweep. [s]"""
        now = self.done - self.before
        return None if now == 0 else self.seconds / now * (self.of - self.done)


@dataclass(frozen=True, slots=True)
class _Work:
    """Compute one chunk and write its part; goes to other processes."""

    job: Job
    folder: Path

    def __call__(self, number: int) -> None:
        Parts(self.folder, self.job.fingerprint).write(number, self.job.compute(number))


def sweep(
    job: Job,
    folder: Path,
    executor: Executor,
    clock: Callable[[], float],
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] = lambda: False,
    needed: Callable[[int, bool], bool] = lambda _, there: not there,
) -> None:
    """Compute every chunk that is not there yet.

    Parameters
    ----------
    job
        What to compute.
    folder
        Where its parts lie; every worker reaches it under this name.
    executor
        Where to compute.
    clock
        Seconds that go on, for the time left. [s]
    progress
        Told after each chunk.
    cancelled
        Asked after each chunk.
    needed
        Asked of each chunk shortly before its turn, with whether its part is there: whether
        to compute it. Whoever lays a chunk's input out does it here.

    Raises
    ------
    Cancelled
        If asked to stop with chunks left; the same sweep goes on from there.
    """
    parts = Parts(folder, job.fingerprint)
    parts.begin()
    missing, begun = set(parts.missing(job.count)), clock()
    kept: list[int] = []

    def wanted() -> Iterator[int]:
        for number in range(job.count):
            if needed(number, number not in missing):
                yield number
            else:
                kept.append(number)

    done, running = 0, executor.run(_Work(job, folder), wanted())
    try:
        for _ in running:
            done += 1
            now = done + len(kept)
            if progress is not None:
                progress(Progress(now, job.count, len(kept), clock() - begun))
            if now < job.count and cancelled():
                raise Cancelled(f"stopped with {now} of {job.count} chunks done")
    finally:
        close = getattr(running, "close", None)
        if close is not None:
            close()


def parts_of(job: Job, folder: Path) -> Iterator[dict[str, NDArray[Any]]]:
    """Give the parts of a job that was swept, in the order of its chunks.

    Parameters
    ----------
    job, folder
        As swept.

    Raises
    ------
    ServiceError
        If one is missing or not whole.
    """
    parts = Parts(folder, job.fingerprint)
    missing = parts.missing(job.count) if parts.is_ours else list(range(job.count))
    if missing:
        what = f"{len(missing)} of {job.count} parts are missing"
        raise ServiceError(f"{folder}: {what}: sweep first")
    for number in range(job.count):
        yield parts.read(number)
