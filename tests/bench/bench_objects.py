"""A night's reads and writes of stored weather: from a folder, and from a bucket on this machine.

``PYTHONPATH=fixtures:tests/bench .venv/bin/python tests/bench/bench_objects.py --cells 500``

The bucket answers from memory through plain HTTP in a process of its own; ``--wait-ms`` lets every
answer wait as a store some way off would. [ms]
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np

from loopback.object_store import ObjectStore
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, Block, Status
from rootbound_service.weather.grid_object_seat import seat_in
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.where import place_of

DAY = date(2026, 7, 1)
BEGIN = date(1996, 1, 1)
TURNS = 5


def serve(far: Connection, wait_s: float) -> None:
    """Run the bucket until told to stop."""
    with ObjectStore(wait_s=wait_s) as bucket:
        far.send((bucket.url, bucket.env))
        while far.recv() == "how many":
            far.send(len(bucket.asked))


@contextmanager
def bucket(wait_s: float) -> Iterator[tuple[str, Callable[[], int]]]:
    """A bucket in a process of its own: its address, and how many requests it has had."""
    near, far = multiprocessing.get_context("spawn").Pipe()
    process = multiprocessing.get_context("spawn").Process(target=serve, args=(far, wait_s))
    process.start()
    url, env = near.recv()
    os.environ.update(env)

    def asked() -> int:
        near.send("how many")
        return int(near.recv())

    yield url, asked
    near.send("stop")
    process.join()


def numbers(cells: tuple[Cell, ...], start: date, days: int, seed: int) -> Block:
    """Weather that compresses as real weather does: two digits."""
    rng = np.random.default_rng(seed)
    values = rng.integers(0, 3000, (len(QUANTITY_NAMES), len(cells), days)) / 100
    marks = np.full((len(QUANTITY_NAMES), days), Status.PROVISIONAL, np.uint8)
    return Block("made_up", cells, start, QUANTITY_NAMES, values, marks)


def measure(url: str, many: int, asked: Callable[[], int]) -> list[tuple[str, float, float]]:
    """Fill a store, then time what a night does with it. [s], requests"""
    cells = tuple(Cell("made_up", i // 500, i % 500, 40.0, -95.0) for i in range(many))
    place = place_of(url)

    def fresh() -> GridStore:
        return GridStore(seat_in(place, "made_up"), "made_up")

    store = fresh()
    for year in range(BEGIN.year, DAY.year + 1):
        last = min(date(year, 12, 31), DAY)
        store.write(numbers(cells, date(year, 1, 1), last.timetuple().tm_yday, year), None, DAY)
    season = date(2026, 4, 1)
    nights = iter(range(100))

    def night() -> None:
        turn = next(nights)
        answer = numbers(cells, DAY - timedelta(days=44), 45, 5000 + turn)
        store.write(answer, None, DAY + timedelta(days=turn))

    steps: dict[str, Callable[[], object]] = {
        f"spans of {many} cells": lambda: fresh().spans(cells),
        f"this season of {many} cells": lambda: fresh().read(cells, season, DAY),
        "the same again in one process": lambda: store.read(cells, season, DAY),
        f"31 years of {many} cells": lambda: fresh().read(cells, BEGIN, DAY),
        f"write 45 days of {many} cells": night,
    }
    found: list[tuple[str, float, float]] = []
    for words, step in steps.items():
        step()
        before, started = asked(), time.perf_counter()
        for _ in range(TURNS):
            step()
        spent = time.perf_counter() - started
        found.append((words, spent / TURNS, (asked() - before) / TURNS))
    return found


def main() -> None:
    """Print both side by side."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cells", type=int, default=500)
    parser.add_argument("--wait-ms", type=float, default=0.0)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, bucket(given.wait_ms / 1000) as (url, asked):
        near = measure(Path(folder).as_uri(), given.cells, lambda: 0)
        far = measure(f"{url}/bench", given.cells, asked)
    print(f"{'':40}{'folder':>10}{'objects':>10}{'ratio':>8}{'requests':>10}")
    for (words, one, _), (_, two, many) in zip(near, far, strict=True):
        print(f"{words:40}{one * 1e3:8.1f}ms{two * 1e3:8.1f}ms{two / one:8.1f}{many:10.0f}")


if __name__ == "__main__":
    main()
