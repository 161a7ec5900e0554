"""Compiled code made once and then always read back, so that every process runs the same.

A process that compiles runs small functions as compiled on their own; one that reads the kept
code runs them as compiled into the whole. Both are right, to about the seventh digit. Figures
that must come out the same to the digit need a process that reads.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from rootbound_rules.season.cache import folder

MARK, MANY = "whole", "many"


def kept(mark: str = MARK) -> bool:
    """Tell whether the code of this version is kept, or cannot be and is not worth waiting for.

    Parameters
    ----------
    mark
        ``MARK`` of what every night needs, ``MANY`` of what very many fields need.
    """
    return not folder() or (Path(folder()) / mark).exists()


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


def compile_night() -> None:
    """Compile the night of very many fields and keep it; for a process that computes nothing."""
    from rootbound_rules.season.night import NTOLD, night

    single, whole, count = np.float32, np.float64, np.int64
    none, pairs = np.zeros(0, count), np.zeros((0, 1), count)
    cube = np.zeros((0, 1, 1), single)
    fields = (
        np.zeros((0, 1), single), cube, cube, cube, np.zeros((1, 1), single), none,
        np.zeros(0, np.bool_), none, np.zeros((0, 2), whole),
    )  # fmt: skip
    sky = (np.zeros((0, 1, 4), whole), none, none, none, pairs)
    coming = (np.zeros((0, 1, 0, 4), whole), none, pairs, none)
    asked = (np.ones(4, count), np.ones(4, whole), 1.0, 1.0, 1)
    search = (none, pairs, np.zeros((1, 3, 4), count), np.zeros(5, whole))
    told, hold = np.zeros((0, NTOLD), whole), np.zeros((0, 0, 3), whole)
    night(fields, sky, coming, asked, search, told, hold, np.zeros(0, np.int8))
    (Path(folder()) / MANY).touch()
