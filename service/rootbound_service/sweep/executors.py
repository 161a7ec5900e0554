"""Where chunks are computed: in this process, in processes of this machine, or on a cluster."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import Protocol

from rootbound_service.errors import ServiceError

Work = Callable[[int], None]
AHEAD = 2
"""Chunks that wait for each worker, so that memory is bounded whatever their number."""
MOST_LOSSES = 5
"""So many times a lost worker's chunks are begun again before the sweep gives up."""


class Executor(Protocol):
    """Runs a piece of work on every number, in any order."""

    def run(self, work: Work, numbers: Sequence[int]) -> Iterator[int]:
        """Run the work; gives each number when it is done.

        Parameters
        ----------
        work
            Can be pickled; running it twice on a number does no harm.
        numbers
            What to run it on.
        """
        ...


class InProcess:
    """One chunk after the other, here."""

    def run(self, work: Work, numbers: Sequence[int]) -> Iterator[int]:
        """Run the work; see :class:`Executor`."""
        for number in numbers:
            work(number)
            yield number


class Processes:
    """Processes of this machine; one that dies costs time only.

    Parameters
    ----------
    workers
        How many.
    """

    def __init__(self, workers: int) -> None:
        self.workers = workers

    def run(self, work: Work, numbers: Sequence[int]) -> Iterator[int]:
        """Run the work; see :class:`Executor`.

        Raises
        ------
        ServiceError
            If workers die again and again.
        """
        left, losses = list(numbers), 0
        while left:
            done: set[int] = set()
            try:
                for number in self._once(work, left):
                    done.add(number)
                    yield number
            except BrokenProcessPool as broken:
                losses += 1
                if losses > MOST_LOSSES:
                    raise ServiceError(
                        f"workers died {losses} times, last with {len(left) - len(done)} chunks "
                        "left: look for memory that ran out"
                    ) from broken
            left = [number for number in left if number not in done]

    def _once(self, work: Work, numbers: Sequence[int]) -> Iterator[int]:
        """One pool, until it is done or breaks."""
        waiting, coming = iter(numbers), dict[Future[None], int]()
        pool = ProcessPoolExecutor(self.workers, get_context("spawn"))
        try:
            for number in waiting:
                coming[pool.submit(work, number)] = number
                if len(coming) < AHEAD * self.workers:
                    continue
                yield from _finished(coming)
            while coming:
                yield from _finished(coming)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _finished(coming: dict[Future[None], int]) -> Iterator[int]:
    """Wait for some chunk, and give those that are done."""
    ready, _ = wait(coming, return_when=FIRST_COMPLETED)
    for future in ready:
        number = coming.pop(future)
        future.result()
        yield number
