"""A night over many fields: both twins, 32 members, the chances and rain to hold.

Run from the repository root: ``PYTHONPATH=fixtures:tests/bench .venv/bin/python
tests/bench/bench_outlook.py``. Not a test: times are printed, never asserted.
"of processor" counts the microseconds of all processors together, which other work on the
machine changes little.
"""

from __future__ import annotations

import argparse
import os
import resource
import time
from datetime import timedelta

import numpy as np
from outlook_scene import KINDS, NIGHTS_AFTER, PLANTED, OutlookScene, make_kind
from rich.console import Console
from rich.table import Table as Grid

from rootbound_rules.season.layout import BLOCK
from rootbound_rules.tables import load_table

CHUNK = 5_000
SIZES = (1_000, 10_000, 100_000, 1_000_000)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int, default=SIZES[-1])
    parser.add_argument("--singles", type=int, default=40)
    asked = parser.parse_args()
    console = Console(width=110)
    begun = time.perf_counter()
    from rootbound_rules.season.night import night

    scene = OutlookScene()
    play(night, scene, 64)
    console.print(f"start, first call and what the scene repeats: {since(begun):.1f} s")
    grid = Grid(title=f"one night, {BLOCK} members, both twins, rain to hold; {load()}")
    for name in (
        "fields",
        "night s",
        "us a field",
        "of processor",
        "scene s",
        "searched",
        "none would",
        "peak MB",
    ):
        grid.add_column(name, justify="right")
    for fields in (size for size in SIZES if size <= asked.most):
        grid.add_row(*measure(night, scene, fields))
    console.print(grid)
    console.print(packing())
    console.print(singles(asked.singles))
    console.print(load())


def load() -> str:
    """How busy the machine is with everything."""
    return f"load {os.getloadavg()[0]:.1f} on {len(os.sched_getaffinity(0))} processors"


def since(begun: float) -> float:
    """Seconds."""
    return time.perf_counter() - begun


def measure(night, scene, fields: int) -> list[str]:
    """One row: chunks one after the other."""
    taken = made = 0.0
    chunk, busy = min(CHUNK, -(-fields // len(NIGHTS_AFTER))), 0.0
    kinds = np.zeros(4, np.int64)
    for number in range(-(-fields // chunk)):
        some = min(chunk, fields - number * chunk)
        before = time.process_time()
        night_s, scene_s, found = play(night, scene, some, number)
        taken, made = taken + night_s, made + scene_s
        busy += time.process_time() - before - scene_s
        kinds += np.bincount(found, minlength=4)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    shares = [f"{100 * kinds[k].sum() / fields:.0f} %" for k in ([1, 2], [2])]
    costs = [f"{1e6 * spent / fields:.0f}" for spent in (taken, busy)]
    return [f"{fields:,}", f"{taken:.2f}", *costs, f"{made:.2f}", *shares, f"{peak:.0f}"]


def play(night, scene, fields: int, number: int = 0):
    """Make one chunk and run its night. [s], [s], what was found"""
    from rootbound_rules.season.night import NTOLD

    begun = time.perf_counter()
    arrays = scene.chunk(number, fields)
    rows = load_table("hold")
    names = ("most_mm", "first_mm", "narrow.share", "narrow.mm")
    limits = np.array([*(rows.number(name) for name in names), 0.0])
    nights = int(rows.number("nights"))
    told, found = np.empty((fields, NTOLD), np.float32), np.empty(fields, np.int8)
    hold = np.empty((fields, nights, 3))
    mark = load_table("ladder").number("onset_days")
    made = since(begun)
    begun = time.perf_counter()
    night(
        *arrays.values(), scene.table, scene.spans, scene.marks, mark, BLOCK, limits,
        told, hold, found,
    )  # fmt: skip
    return since(begun), made, found


def packing() -> str:
    """What packing costs a field, apart from its night."""
    begun = time.perf_counter()
    for i in range(KINDS, KINDS + 60):
        make_kind(i)
    return f"packing one field (soil, plan, draws, arrays): {since(begun) / 60 * 1e3:.2f} ms"


def singles(count: int) -> str:
    """The path of one field by itself: its outlook, then rain to hold."""
    from outlook_scene import YEARS, demand_of

    from rootbound_rules.risk.rain_to_hold import rain_to_hold
    from rootbound_rules.season.outlook import look_out

    demand, spent, searched = demand_of(3), np.zeros(2), 0
    for i in range(-1, count):
        known = PLANTED + timedelta(days=45 + i % 30)
        begun = time.perf_counter()
        outlook = look_out(make_kind(max(i, 0)).season, demand, known, i + 1, YEARS)
        looked = time.perf_counter()
        told = rain_to_hold(outlook, known + timedelta(days=1), 0)
        if i >= 0:  # the first one loads the compiled code
            spent += looked - begun, since(looked)
            searched += told.kind in {"rain", "none_would"}
    one, two = 1e3 * spent / count
    return (
        f"one field by itself: packing and outlook {one:.1f} ms, rain to hold {two:.1f} ms "
        f"({searched} of {count} searched)"
    )


if __name__ == "__main__":
    main()
