"""A whole night over very many fields: from weather in memory to rows and notes in the store.

Run from the repository root: ``PYTHONPATH=fixtures:tests/bench .venv/bin/python
tests/bench/bench_million.py --fields 1000000 --cells 50000``, with ``--database URL`` for
PostgreSQL. Not a test: times are printed, never asserted. On the nights before nobody is told,
so that the night measured has rungs to remember. In mid-July two fields in a hundred have something
to tell, a bad night; by ``--night 2026-06-20`` six in a thousand, a usual one.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path

from million_scene import NIGHT, enrol, make_climates, open_sky, settle_night
from sqlalchemy import func, select

from rootbound_service.clock import SetClock
from rootbound_service.nights.many import record, run
from rootbound_service.nights.many.run import Plant, run_many
from rootbound_service.settings import load_settings
from rootbound_service.store.schema import field, note, risk
from rootbound_service.store.schema import outbox as outbox_table
from rootbound_service.sweep.cluster import Cluster
from rootbound_service.sweep.executors import InProcess, Processes
from rootbound_service.wiring import open_service


class Watch:
    """Seconds by piece of the night, of the coordinator alone."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = {}

    def around(self, module, name: str, label: str) -> None:
        """Time every call of a function."""
        inner = getattr(module, name)

        def timed(*given, **named):
            begun = time.perf_counter()
            try:
                return inner(*given, **named)
            finally:
                self.spent[label] = self.spent.get(label, 0.0) + time.perf_counter() - begun

        setattr(module, name, timed)


def main() -> None:
    """Print one line a night as JSON."""
    asked = asked_for()
    if not asked.keep:
        shutil.rmtree(asked.folder, ignore_errors=True)
    asked.folder.mkdir(parents=True, exist_ok=True)
    climates = asked.folder / "climates"
    if not climates.exists():
        make_climates(climates)
    clock = SetClock(datetime(2026, 7, 1, 9, 30, tzinfo=UTC))
    with open_service(load_settings(env_of(asked)), clock) as service:
        if not asked.keep:
            begun = time.perf_counter()
            with service.engine.begin() as conn:
                enrol(conn, asked.fields, asked.cells or max(asked.fields // 20, 1), asked.readers)
            say(enrolled=asked.fields, seconds=round(time.perf_counter() - begun, 1))
        with service.engine.connect() as conn:
            last = conn.scalar(select(func.max(risk.c.night)))
        first = asked.night - timedelta(days=1 + asked.settle)
        first = max(first, last) if last else first
        watch = watched()
        for step in range(1, asked.settle + asked.nights + 1):
            tonight = first + timedelta(days=step)
            clock.set(datetime.combine(tonight, datetime.min.time(), UTC) + timedelta(hours=9.5))
            if step > asked.settle:
                play(service, tonight, asked, climates, watch)
                continue
            begun = time.perf_counter()
            settle_night(service.parts, plant_of(asked, climates, tonight), tonight)
            say(settled=str(tonight), seconds=round(time.perf_counter() - begun, 1))


def asked_for() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    own = Path(tempfile.gettempdir()) / "bench-million"
    parser.add_argument("--fields", type=int, default=20_000)
    parser.add_argument("--cells", type=int, default=0)
    parser.add_argument("--database")
    parser.add_argument("--folder", type=Path, default=own)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--dask", action="store_true")
    parser.add_argument("--settle", type=int, default=1, help="nights before that tell nobody")
    parser.add_argument("--readers", type=float, default=1.0, help="share who want letters")
    parser.add_argument("--night", type=date.fromisoformat, default=NIGHT, help="the first told")
    parser.add_argument("--nights", type=int, default=1)
    parser.add_argument("--keep", action="store_true", help="go on with an earlier call's fields")
    return parser.parse_args()


def env_of(asked) -> dict[str, str]:
    """The service's settings."""
    order = asked.folder / "order.toml"
    order.write_text('[[order]]\nneed = "days"\nregion = "world"\nsources = ["gridmet"]\n')
    env = {
        "ROOTBOUND_DATA_DIR": str(asked.folder), "ROOTBOUND_SOURCES_FILE": str(order),
        "ROOTBOUND_OPERATOR_EMAIL": "operator@bench.example",
        "ROOTBOUND_MAIL_FROM": "watch@bench.example", "ROOTBOUND_BASE_URL": "https://bench.example",
    }  # fmt: skip
    return env | ({"ROOTBOUND_DATABASE_URL": asked.database} if asked.database else {})


def watched() -> Watch:
    """Time the coordinator's pieces."""
    watch = Watch()
    watch.around(run, "due_fields", "find fields and cells")
    watch.around(run, "lay_out", "lay out (beside the sweep)")
    watch.around(run, "sweep", "sweep")
    watch.around(record, "_read", "read parts")
    watch.around(record, "word_many", "letters")
    watch.around(record, "_store", "store rows and notes")
    watch.around(record, "_send", "put in the outbox")
    return watch


def play(service, tonight, asked, climates, watch) -> None:
    """One night."""
    plant = plant_of(asked, climates, tonight)
    watch.spent.clear()
    begun, busy = time.perf_counter(), cpu()
    report = run_many(service.parts, tonight, lambda: plant, shown, pull=False)
    whole = time.perf_counter() - begun
    with service.engine.connect() as conn:
        rows = conn.scalar(select(func.count()).select_from(risk).where(risk.c.night == tonight))
        notes = conn.scalar(select(func.count()).select_from(note).where(note.c.night == tonight))
        rungs = dict(
            conn.execute(
                select(risk.c.rung, func.count())
                .where(risk.c.night == tonight)
                .group_by(risk.c.rung)
            ).all()
        )
        waiting = conn.scalar(select(func.count()).select_from(outbox_table))
        fields = conn.scalar(select(func.count()).select_from(field))
    say(
        night=str(tonight), fields=fields, seconds=round(whole, 1),
        us_a_field=round(1e6 * whole / fields, 1), cpu_us=round(1e6 * (cpu() - busy) / fields, 1),
        rows=rows, notes=notes, messages=report.messages, in_outbox=waiting,
        rungs={str(k): v for k, v in rungs.items()}, failures=report.failures[:2],
        silent=report.fields_failed,
        **{name: round(spent, 1) for name, spent in watch.spent.items()},
        peak_mb_here=peak(resource.RUSAGE_SELF), peak_mb_worker=peak(resource.RUSAGE_CHILDREN),
        load=os.getloadavg()[0],
    )  # fmt: skip


def plant_of(asked, climates, tonight) -> Plant:
    """Who computes, as asked."""
    os.environ["NUMBA_NUM_THREADS"] = "1" if asked.workers > 1 or asked.dask else "2"
    executor = InProcess() if asked.workers == 1 else Processes(asked.workers)
    executor = Cluster(workers=asked.workers) if asked.dask else executor
    return Plant(executor, asked.folder / "sweep", partial(open_sky, climates, tonight), "bench")


def cpu() -> float:
    """Seconds of processor of this process and the workers that are gone."""
    own, others = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def peak(who: int) -> int:
    """Most memory of one process. [MB]"""
    return resource.getrusage(who).ru_maxrss // 1024


def shown(done: int, of: int) -> None:
    """Progress on the terminal."""
    sys.stderr.write(f"\r{done} of {of} chunks   ")


def say(**told) -> None:
    """One line."""
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
