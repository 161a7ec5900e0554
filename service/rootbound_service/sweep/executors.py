"""Where chunks are computed: in this process, in processes of this machine, or on a cluster."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import chain
from multiprocessing import connection, get_context, parent_process
from threading import Thread
from typing import Protocol

from rootbound_service.errors import ServiceError
from rootbound_service.logs import Form, asked_for, log_to_stderr

Work = Callable[[int], None]
AHEAD = 2
"""Chunks that wait for each worker, so that memory is bounded whatever their number."""
MOST_LOSSES = 5
"""So many times a lost worker's chunks are begun again before the sweep gives up."""


class Executor(Protocol):
    """Runs a piece of work on every number, in any order."""

    def run(self, work: Work, numbers: Iterable[int]) -> Iterator[int]:
        """Run the work; gives each number when it is done.

        Parameters
        ----------
        work
            Can be pickled; running it twice on a number does no harm.
        numbers
            What to run it on; asked for one by one, shortly before each is begun.
        """
        ...


class InProcess:
    """One chunk after the other, here."""

    def run(self, work: Work, numbers: Iterable[int]) -> Iterator[int]:
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

    def run(self, work: Work, numbers: Iterable[int]) -> Iterator[int]:
        """Run the work; see :class:`Executor`.

        Raises
        ------
        ServiceError
            If workers die again and again.
        """
        waiting, losses = iter(numbers), 0
        again: list[int] = []
        while True:
            coming = dict[Future[None], int]()
            try:
                yield from self._once(work, chain(again, waiting), coming)
            except BrokenProcessPool as broken:
                losses += 1
                again = sorted(coming.values())
                if losses > MOST_LOSSES:
                    raise ServiceError(
                        f"workers died {losses} times, last with {len(again)} chunks "
                        "begun: look for memory that ran out"
                    ) from broken
            else:
                return

    def _once(
        self, work: Work, numbers: Iterator[int], coming: dict[Future[None], int]
    ) -> Iterator[int]:
        """One pool, until it is done or breaks; ``coming`` then holds what was begun."""
        begun = (asked_for(),)
        pool = ProcessPoolExecutor(self.workers, get_context("spawn"), begin_worker, begun)
        try:
            for number in numbers:
                _begin(pool, work, number, coming)
                if len(coming) >= AHEAD * self.workers:
                    yield from _finished(coming)
            while coming:
                yield from _finished(coming)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def begin_worker(log: tuple[bool, Form] | None = None) -> None:
    """Take one processor, log as whoever started this worker, and end when that is gone.

    Parameters
    ----------
    log
        How the other's log was asked for.
    """
    if log is not None:
        whole, form = log
        log_to_stderr(whole=whole, form=form)
    os.environ["NUMBA_NUM_THREADS"] = "1"  # read when compiled code is first loaded
    parent = parent_process()
    if parent is None:
        return

    def watch() -> None:
        connection.wait([parent.sentinel])
        os._exit(1)

    Thread(target=watch, daemon=True).start()


def _begin(
    pool: ProcessPoolExecutor, work: Work, number: int, coming: dict[Future[None], int]
) -> None:
    """Hand a chunk out; one that a broken pool refuses is among those to begin again."""
    try:
        coming[pool.submit(work, number)] = number
    except BrokenProcessPool:
        coming[Future()] = number
        raise


def _finished(coming: dict[Future[None], int]) -> Iterator[int]:
    """Wait for some chunk, and give those that are done."""
    ready, _ = wait(coming, return_when=FIRST_COMPLETED)
    for future in ready:
        future.result()
        yield coming.pop(future)
