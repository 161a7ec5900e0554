"""Two invented cells, and blocks of numbers for the weather store."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np

from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, Block, Status

AMES, NORTH = Cell("made_up", 264, 138, 42.0, -93.75), Cell("made_up", 265, 138, 42.5, -93.75)
START, END = date(2026, 6, 1), date(2026, 6, 5)
NIGHT, NEXT = date(2026, 6, 6), date(2026, 6, 7)
NAN = float("nan")
ROOT = Path(__file__).parents[3]


def block(first=20.0, start=START, days=5, cells=(AMES,), status=Status.PROVISIONAL, **more):
    """Some numbers, another series for every quantity and cell."""
    quantities = more.pop("quantities", QUANTITY_NAMES)
    q, c, d = np.ogrid[: len(quantities), : len(cells), :days]
    values = np.round(first + q + c * 1.5 + d / 100, 4)
    marks = np.full((len(quantities), days), status, np.uint8)
    return Block("made_up", tuple(cells), start, quantities, values, marks, **more)


def no_flags(like):
    return np.zeros(like.values.shape, np.uint16)


def number(day):
    return (day - date(1981, 1, 1)).days
