"""Compiled code made once and then always read back, so that every process runs the same.

A process that compiles runs small functions as compiled on their own; one that reads the kept
code runs them as compiled into the whole. Both are right, to about the seventh digit. Figures
that must come out the same to the digit need a process that reads.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rootbound_rules.season.cache import folder

MARK = "whole"


def kept() -> bool:
    """Tell whether the code of this version is kept, or cannot be and is not worth waiting for."""
    return not folder() or (Path(folder()) / MARK).exists()


def compile_all() -> None:
    """Compile what a night needs and keep it; for a process that computes nothing else."""
    from numba import types

    from rootbound_rules.season import hold, kernel

    compiled: tuple[Any, Any] = kernel.season_of_field, hold.hold_of_field
    kinds: Any = types
    row, rows = kinds.float32[::1], kinds.float32[:, ::1]
    figure, figures = kinds.float64[::1], kinds.float64[:, ::1]
    count, counts = kinds.int64, kinds.int64[::1]
    season = (row, rows, rows, rows, rows, row, count, count, kinds.boolean)
    asked = kinds.Tuple((count, kinds.int64[:, :, ::1], counts, figure, count))
    compiled[0].compile((*season, rows))
    compiled[1].compile((*season, count, count, count, asked, figure, figures))
    (Path(folder()) / MARK).touch()
