"""Weather into the store and out of it, beside a plain copy of the same bytes, in one run.

Run from the repository root: ``.venv/bin/python tests/bench/bench_weather.py``. Not a test:
speeds are printed as ratios, never asserted. Everything lies in a temporary folder; the numbers
are invented. ``--cell-chunk`` and ``--day-chunk`` try other chunks than the store's.
"""

from __future__ import annotations

import argparse
import os
import resource
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import netCDF4
import numpy as np
from rich.console import Console
from rich.table import Table

from rootbound_service.weather import grid_layout as layout
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, VITAL, Ask, Block, Status
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.sources.cf import CfSource
from rootbound_service.weather.sources.cf_presets import parse_preset

DAY = date(2026, 7, 1)
PRESET = """
name = "invented"
title = "an invented grid"
earliest = 2026-01-01
[[files]]
where = "{year}.nc"
[habits]
lag = 2
recent = 30
settled = 60
[variables.tmax_c]
name = "tmax_c"
[variables.tmin_c]
name = "tmin_c"
[variables.rain_mm]
name = "rain_mm"
"""


@dataclass(frozen=True)
class Timed:
    """One piece of work: how long, and the bytes of values (float32) that it moved."""

    what: str
    seconds: float
    size: int
    copy_s: float
    peak: int


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cells", type=int, default=50_000)
    parser.add_argument("--season-cells", type=int, default=1_000)
    parser.add_argument("--cell-chunk", type=int, default=layout.CELL_CHUNK)
    parser.add_argument("--day-chunk", type=int, default=layout.DAY_CHUNK)
    asked = parser.parse_args()
    layout.CELL_CHUNK, layout.DAY_CHUNK = asked.cell_chunk, asked.day_chunk
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        rows = [
            *one_day(root, asked.cells),
            *season(root, asked.season_cells),
            *one_night(root),
        ]
    show(rows, asked)


def one_day(root: Path, many: int) -> list[Timed]:
    """Pull a day of many cells from a netCDF file and store it, twice: a new file, then more."""
    source = invented(root, many)
    store = GridStore(root / "invented.zarr", "invented")
    grid = source.grid
    cells = tuple(grid.cell(i // grid.columns, i % grid.columns) for i in range(many))
    size = many * len(VITAL) * 4
    blocks: list[Block] = []
    found: list[Timed] = []
    for turn, words in enumerate(("first day", "next day")):
        day = DAY + timedelta(days=turn)
        ask = Ask(cells, day, day, day + timedelta(days=2))
        found += [
            timed(f"pull {words}, {many} cells", size, root, lambda a=ask: pull(source, a, blocks)),
            timed(
                f"store {words}, {many} cells",
                size,
                root,
                lambda a=ask: store.write(blocks[-1], None, a.asked_on),
                lambda a=ask: store.write(warmer(blocks[-1]), None, a.asked_on),
            ),
        ]
    found.append(
        timed(f"last days of {many} cells", many * 128 * 24, root, lambda: store.spans(cells))
    )
    return found


def pull(source: CfSource, ask: Ask, blocks: list[Block]) -> None:
    """Fetch into a list."""
    blocks.append(source.fetch(ask))


def warmer(block: Block) -> Block:
    """The same with every value revised."""
    return replace(block, values=block.values + 1.0)


def season(root: Path, many: int) -> list[Timed]:
    """Load this season and the same cells' 30 past years, all quantities."""
    store = GridStore(root / "made_up.zarr", "made_up")
    cells = tuple(Cell("made_up", i // 500, i % 500, 40.0, -95.0) for i in range(many))
    begin = date(1996, 1, 1)
    kept = 0.0
    for year in range(1996, 2027):
        last = date(year, 12, 31) if year < 2026 else DAY
        one = numbers(cells, date(year, 1, 1), (last - date(year, 1, 1)).days + 1)
        started = time.perf_counter()
        store.write(one, None, DAY)
        kept += time.perf_counter() - started
    size = many * len(QUANTITY_NAMES) * ((DAY - begin).days + 1) * 4
    copy_s = plain_copy(root, size)
    at_once = 200

    def load() -> None:
        for first in range(0, many, at_once):
            store.read(cells[first : first + at_once], begin, DAY).usable()

    return [
        Timed(f"store 31 years of {many} cells, a year a time", kept, size, copy_s, 0),
        timed(f"load 31 years of {many} cells, {at_once} at once", size, root, load),
    ]


def one_night(root: Path) -> list[Timed]:
    """A small user's night: 45 days of 16 scattered cells written, 31 years of them read."""
    store = GridStore(root / "few.zarr", "few")
    cells = tuple(Cell("few", 31 * i, 17 * i, 40.0, -95.0) for i in range(16))
    begin = date(1996, 1, 1)
    days = (DAY - begin).days + 1
    store.write(numbers(cells, begin, days), None, DAY)
    night = numbers(cells, DAY - timedelta(days=44), 45, seed=8)
    size = 16 * 6 * 4
    return [
        timed("write 45 days of 16 cells", size * 45, root, lambda: store.write(night, None, DAY)),
        timed(
            "read 31 years of 16 cells", size * days, root, lambda: store.read(cells, begin, DAY)
        ),
        timed("spans of 16 cells", size * 128, root, lambda: store.spans(cells)),
    ]


def invented(root: Path, many: int) -> CfSource:
    """Write a year of a small grid, three variables, packed and compressed as such files are."""
    columns = 250
    rows = -(-many // columns)
    rng = np.random.default_rng(3)
    with netCDF4.Dataset(root / "2026.nc", "w") as file:
        for name, size in (("time", 5), ("lat", rows), ("lon", columns)):
            file.createDimension(name, size)
        for name, units, values in (
            ("time", "days since 2026-01-01", (DAY - date(2026, 1, 1)).days + np.arange(5)),
            ("lat", "degrees_north", 49.0 - np.arange(rows) / 24),
            ("lon", "degrees_east", -110.0 + np.arange(columns) / 24),
        ):
            line = file.createVariable(name, "f8", (name,))
            line.units, line.standard_name = (
                units,
                {"lat": "latitude", "lon": "longitude"}.get(name, name),
            )
            line[:] = values
        for name, units, base in (
            ("tmax_c", "degC", 25),
            ("tmin_c", "degC", 12),
            ("rain_mm", "mm", 4),
        ):
            table = file.createVariable(
                name, "i2", ("time", "lat", "lon"), zlib=True, chunksizes=(1, rows, columns)
            )
            table.units, table.scale_factor, table.add_offset = units, 0.1, 0.0
            table[:] = base + rng.random((5, rows, columns)) * 5
    return CfSource(parse_preset(PRESET, "invented.toml", root))


def numbers(cells: tuple[Cell, ...], start: date, days: int, seed: int = 7) -> Block:
    """Invent values with two digits."""
    values = np.random.default_rng(seed).integers(-2000, 3500, (6, len(cells), days)) / 100
    status = np.full((6, days), Status.PROVISIONAL, np.uint8)
    return Block(cells[0].source, cells, start, QUANTITY_NAMES, values, status)


def timed(
    what: str,
    size: int,
    root: Path,
    run: Callable[[], object],
    again: Callable[[], object] | None = None,
) -> Timed:
    """Time a piece of work beside a copy of as many bytes, then see its memory in a second run.

    ``again`` is run the second time, where the first leaves nothing to do.
    """
    started = time.perf_counter()
    run()
    seconds = time.perf_counter() - started
    tracemalloc.start()
    (again or run)()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return Timed(what, seconds, size, plain_copy(root, size), peak)


def plain_copy(root: Path, size: int) -> float:
    """Copy a file of so many bytes, the best of three, on disk each time. [s]"""
    source, target = root / "plain", root / "copied"
    source.write_bytes(np.random.default_rng(1).bytes(size))
    taken = []
    for _ in range(3):
        started = time.perf_counter()
        with source.open("rb") as read, target.open("wb") as written:
            while part := read.read(1 << 20):
                written.write(part)
            written.flush()
            os.fsync(written.fileno())
        taken.append(time.perf_counter() - started)
    return min(taken)


def show(rows: list[Timed], asked) -> None:
    """Print times, rates and ratios."""
    console = Console(width=130)
    table = Table(title=f"chunks of {asked.cell_chunk} cells and {asked.day_chunk} days")
    for name in ("work", "s", "MB of values", "MB/s", "plain copy MB/s", "of it", "peak MB"):
        table.add_column(name, justify="left" if name == "work" else "right")
    for row in rows:
        size = row.size / 1e6
        peak = f"{row.peak / 1e6:,.0f}" if row.peak else ""
        table.add_row(
            row.what,
            f"{row.seconds:.3f}",
            f"{size:,.1f}",
            f"{size / row.seconds:,.1f}",
            f"{size / row.copy_s:,.0f}",
            f"{row.copy_s / row.seconds:.1%}",
            peak,
        )
    console.print(table)
    night = {row.what: row.seconds for row in rows}
    each = (night["write 45 days of 16 cells"] + night["read 31 years of 16 cells"]) / 16
    console.print(f"one night of 16 scattered cells: {1000 * each:.1f} ms a cell (goal: under 15)")
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    console.print(f"memory of the whole run at its highest: {most:,.0f} MB")


if __name__ == "__main__":
    main()
