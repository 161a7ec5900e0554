"""A night's computing alone: planning, laying out, both twins over 32 members, figures.

Run from the repository root: ``PYTHONPATH=fixtures:tests/bench .venv/bin/python
tests/bench/bench_outlook.py``. Not a test: times are printed, never asserted; other work on
the machine changes wall time more than "of processor", which adds all processors up.
"""

from __future__ import annotations

import argparse
import os
import time
from datetime import timedelta

import numpy as np
from outlook_scene import YEARS, cases, demand_of, season_of
from rich.console import Console
from rich.table import Table as Grid

from rootbound_rules.risk.night_figures import asked_of, figures_of
from rootbound_rules.season.pack_many import alike, pack_many, planned_of

CHUNK = 5_000
SIZES = (1_000, 10_000, 100_000)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int, default=SIZES[-1])
    parser.add_argument("--singles", type=int, default=40)
    asked = parser.parse_args()
    console = Console(width=110)
    begun = time.perf_counter()
    play(0, 64)
    console.print(f"start and first call: {time.perf_counter() - begun:.1f} s")
    grid = Grid(title=f"one night, {len(YEARS)} members, us a field; {load()}")
    for name in ("fields", "plan", "lay out", "both twins", "of processor", "figures"):
        grid.add_column(name, justify="right")
    for fields in (size for size in SIZES if size <= asked.most):
        grid.add_row(*measure(fields))
    console.print(grid)
    console.print(singles(asked.singles))
    console.print(load())


def load() -> str:
    """How busy the machine is with everything."""
    return f"load {os.getloadavg()[0]:.1f} on {len(os.sched_getaffinity(0))} processors"


def measure(fields: int) -> list[str]:
    """One row: chunks one after the other."""
    chunk = min(CHUNK, fields)
    spent = sum(np.array(play(number, chunk)) for number in range(fields // chunk))
    return [f"{fields:,}", *(f"{1e6 * one / fields:.0f}" for one in spent)]


def play(number: int, fields: int) -> tuple[float, ...]:
    """One chunk: planning, laying out, both twins by the clock and the processors, figures. [s]"""
    from rootbound_rules.season.night import NTOLD, night

    made, tonight = cases(number, fields)
    clock = [time.perf_counter()]
    planned = [planned_of(case, {}) for case in made]
    clock.append(time.perf_counter())
    (group,) = alike(planned)
    given = pack_many([planned[i] for i in group], tonight)
    clock.append(time.perf_counter())
    told, found = np.empty((fields, NTOLD)), np.empty(fields, np.int8)
    gates, table = np.zeros((fields, 1), np.int64), np.zeros((1, 3, 4), np.int64)
    nothing = np.zeros(fields, np.int64), gates, table, np.zeros(5)
    busy = time.process_time()
    night(*given, asked_of(len(YEARS)), nothing, told, np.empty((fields, 0, 3)), found)
    busy = time.process_time() - busy
    clock.append(time.perf_counter())
    for one, row in zip(planned, told.tolist(), strict=True):
        figures_of(row, one.plan, (tonight - one.plan.first).days, len(YEARS))
    clock.append(time.perf_counter())
    plan, lay, run, read = np.diff(clock)
    return plan, lay, run, busy, read


def singles(count: int) -> str:
    """The path of one field by itself: its outlook, then rain to hold."""
    from rootbound_rules.risk.rain_to_hold import rain_to_hold
    from rootbound_rules.season.outlook import look_out

    demand, spent, searched = demand_of(3), np.zeros(2), 0
    for i in range(-1, count):
        season = season_of(max(i, 0))
        known = season.planted + timedelta(days=45 + i % 30)
        begun = time.perf_counter()
        outlook = look_out(season, demand, known, i + 1, list(YEARS))
        looked = time.perf_counter()
        told = rain_to_hold(outlook, known + timedelta(days=1), 0)
        if i >= 0:  # the first one loads the compiled code
            spent += looked - begun, time.perf_counter() - looked
            searched += told.kind in {"rain", "none_would"}
    one, two = 1e3 * spent / count
    return (
        f"one field by itself: packing and outlook {one:.1f} ms, rain to hold {two:.1f} ms "
        f"({searched} of {count} searched)"
    )


if __name__ == "__main__":
    main()
