"""How fast a night's rows are read, compared and written, and fields read, a row.

``PYTHONPATH=tests/bench .venv/bin/python tests/bench/bench_store.py`` from the repository root;
``--database URL`` for PostgreSQL, whose own CPU is told where it runs on this machine,
``--fields 1000 10000 100000 1000000``. Not a test: speeds are printed, never asserted.
"""

from __future__ import annotations

import argparse
import os
import random
import tempfile
import time
from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path

import numpy as np
from sqlalchemy import text
from store_scene import NIGHT, enrol, night_of

from rootbound_service.store.engine import make_engine, migrate
from rootbound_service.store.field_rows import field_keys, load_fields_of
from rootbound_service.store.risk import latest_risk, save_risk
from rootbound_service.store.schema import metadata

SLICE = 10_000
US = 1e6


class Watch:
    """Adds up wall, own CPU and the server's CPU seconds of what is done inside."""

    def __init__(self, conn) -> None:
        self._stat, self._begun = None, np.zeros(3)
        if conn.dialect.name == "postgresql":
            found = Path(f"/proc/{conn.scalar(text('SELECT pg_backend_pid()'))}/stat")
            self._stat = found if found.exists() else None
        self.spent = np.zeros(3)

    def __enter__(self) -> None:
        self._begun = self._now()

    def __exit__(self, *_: object) -> None:
        self.spent += self._now() - self._begun

    def _now(self):
        server = 0.0
        if self._stat is not None:
            ticks = self._stat.read_text().rsplit(")", 1)[1].split()[11:13]
            server = sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK")
        return np.array([time.perf_counter(), time.process_time(), server])


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--database", default="", help="emptied first: give one for tests")
    asked.add_argument("--fields", type=int, nargs="+", default=[1000, 10_000, 100_000, 1_000_000])
    asked.add_argument("--slice", type=int, default=SLICE)
    given = asked.parse_args()
    first: dict[str, float] = {}
    for many in given.fields:
        with tempfile.TemporaryDirectory() as folder:
            engine = make_engine(given.database or f"sqlite:///{Path(folder) / 'rootbound.db'}")
            migrate(engine)
            with engine.begin() as conn:
                _empty(conn)
                enrol(conn, many, random.Random(1))
            for what, spent, rows in _measure(engine, many, given.slice):
                wall, cpu, server = spent / rows * US
                ratio = (cpu + server) / first.setdefault(what, cpu + server)
                line = f"{many:>9,} fields  {what:<38}{wall:7.1f} us wall{cpu:7.1f} us CPU"
                print(f"{line}{server:7.1f} us of the server's a row   x{ratio:.2f}", flush=True)
            with engine.begin() as conn:
                _empty(conn)
            engine.dispose()


def _measure(engine, many, size):
    """Give what was spent on a first night, later ones, and on reading, with the rows of each."""
    slices = [range(a, min(a + size, many + 1)) for a in range(1, many + 1, size)]
    then = NIGHT + timedelta(days=1)
    for what, night, seed in (
        ("first night: all new", NIGHT, 2),
        ("next night: all changed", then, 3),
        ("run again: all written over", then, 4),
    ):
        chance = random.Random(seed)
        yield what, _a_night(engine, slices, partial(night_of, night=night, chance=chance)), many
    chance = random.Random(4)
    after = partial(_a_day_later, night=then, chance=chance)
    yield "night after: nothing changed", _a_night(engine, slices, after), many
    with engine.execution_options(ro=True).connect() as conn:
        watch = Watch(conn)
        for some in slices:
            with watch:
                latest_risk(conn, NIGHT + timedelta(days=9), list(some))
        yield "memory as RiskRecord", watch.spent, many
        watch = Watch(conn)
        with watch:
            keys = sum(1 for _ in field_keys(conn, NIGHT))
        yield "field keys", watch.spent, keys
        watch, looked = Watch(conn), min(many, 50_000)
        for start in range(1, looked + 1, 5000):
            with watch:
                load_fields_of(conn, range(start, min(start + 5000, looked + 1)), on=NIGHT)
        yield "FieldRecord with a dig, 5,000 at once", watch.spent, looked


def _a_night(engine, slices, make):
    with engine.connect() as conn:
        conn.begin()
        watch = Watch(conn)
        for some in slices:
            rows = make(some)
            with watch:
                save_risk(conn, rows)
        with watch:
            conn.commit()
    return watch.spent


def _a_day_later(some, night, chance):
    return [replace(one, night=night + timedelta(days=1)) for one in night_of(some, night, chance)]


def _empty(conn):
    if conn.dialect.name == "postgresql":
        names = ", ".join(f'"{one.name}"' for one in metadata.sorted_tables)
        conn.execute(text(f"TRUNCATE {names}"))


if __name__ == "__main__":
    main()
