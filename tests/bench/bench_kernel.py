"""Field-days per second of the compiled members, beside numpy and a plain loop, in one run.

Run from the repository root: ``PYTHONPATH=fixtures:tests/bench .venv/bin/python
tests/bench/bench_kernel.py``. Not a test: speeds are printed as ratios, never asserted.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

import numpy as np
from numpy_step import NumpySeason
from rich.console import Console
from rich.table import Table
from scene import scene

from rootbound_rules.season.layout import BLOCK
from rootbound_rules.season.trace import run_trace


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fields", type=int, default=20_000)
    parser.add_argument("--cells", type=int, default=200)
    parser.add_argument("--days", type=int, default=120)
    asked = parser.parse_args()
    begun = time.perf_counter()
    from rootbound_rules.season.sweep import NRED, sweep, threads

    told = scene(asked.fields, asked.cells, asked.days)
    red = np.empty((asked.fields, 1, NRED, BLOCK), np.float32)
    first = [a[:2] if a.shape[0] == asked.fields else a for a in told.arrays.values()]
    loading = time.perf_counter()
    sweep(*first, 2.0, red[:2])
    first_call = time.perf_counter() - loading
    members_days = asked.fields * BLOCK * asked.days
    kernel = best(lambda: sweep(*told.arrays.values(), 2.0, red), 5)
    few = 64
    plain = NumpySeason(told, few)
    numpy_s = best(lambda: plain.run(asked.days), 3)
    numpy_rate = few * BLOCK * asked.days / numpy_s
    loop_days, loop_s = python_loop(told)
    rates = {
        f"compiled members, {threads()} processors": members_days / kernel,
        "numpy, fields x members at once": numpy_rate,
        "the same functions in a Python loop": loop_days / loop_s,
    }
    show(rates, first_call, time.perf_counter() - begun, asked)


def best(run: Callable[[], object], times: int) -> float:
    """Shortest of several runs. [s]"""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        run()
        taken.append(time.perf_counter() - begun)
    return min(taken)


def python_loop(told) -> tuple[int, float]:
    """Days of both twins in plain Python, and how long they took. [s]"""
    demand = told.demands[0]
    begun = time.perf_counter()
    days = sum(len(run_trace(season, demand)) for season in told.seasons[:6])
    return days, time.perf_counter() - begun


def show(rates: dict[str, float], first_call: float, total: float, asked) -> None:
    """Print rates and ratios."""
    console = Console()
    table = Table(title=f"{asked.fields} fields, {asked.cells} cells, {BLOCK} members")
    for name in ("way", "field-days/s", "both twins counted", "times"):
        table.add_column(name, justify="left" if name == "way" else "right")
    slowest = min(rates.values())
    for way, rate in rates.items():
        twice, times = f"{2 * rate / 1e6:,.1f} M", f"{rate / slowest:,.0f}"
        table.add_row(way, f"{rate / 1e6:,.2f} M", twice, times)
    console.print(table)
    names = list(rates)
    console.print(f"compiled over numpy: {rates[names[0]] / rates[names[1]]:.1f} times")
    console.print(f"first call (compile or load): {first_call:.2f} s; whole run {total:.0f} s")


if __name__ == "__main__":
    main()
