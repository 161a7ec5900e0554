"""The days each rung looks at, and the stress in them that it takes: rows of ``ladder``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.tables import load_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

CHANCES = ("chance_14", "chance_7", "chance_short", "chance_failing")
"""The chance behind each rung from 1 on."""
ROWS = (("drawing_down", 1), ("tight", 1), ("short", -1), ("failing", -1))
"""Rows of the ladder behind each of them, and whether their days come (1) or are past (-1)."""


def windows() -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the window of each rung from 1 on, past ones below 0, and the stress it takes. [d]"""
    rows = load_table("ladder")
    spans = [sign * int(rows.number(f"{name}.days")) for name, sign in ROWS]
    marks = [rows.number(f"{name}.stress") for name, _ in ROWS]
    return np.array(spans, np.int64), np.array(marks)
