"""Invented weather of whole years for the tests of checks, normals and filling."""

from __future__ import annotations

from datetime import date

import numpy as np

from rootbound_service.weather.calendar_slots import slots_of
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, Block, Status
from rootbound_service.weather.fill.compose import SourceDays
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.radiation import clear_sky_mj

LAT, ELEVATION_M = 42.0, 300.0
START = date(2001, 1, 1)
ROW = {name: row for row, name in enumerate(QUANTITY_NAMES)}


def invented(days, cells=1, start=START, seed=1):
    """Plausible weather of a humid place at 42 degrees north, shape (quantity, cell, day)."""
    chance = np.random.default_rng(seed)
    season = np.cos(2 * np.pi * (slots_of(start, days) - 200) / 366)
    noise = chance.normal(0, 3.0, (cells, days))
    noise[:, 1:] += 0.6 * noise[:, :-1]
    tmax = 15 + 14 * season + noise
    spread = chance.uniform(5, 15, (cells, days))
    rso = clear_sky_mj(np.full(cells, LAT), np.full(cells, ELEVATION_M), start, days)
    rain = np.where(chance.random((cells, days)) < 0.3, chance.gamma(0.8, 9.0, (cells, days)), 0.0)
    wind = chance.gamma(8.0, 0.35, (cells, days))
    return np.stack(
        [
            tmax,
            tmax - spread,
            rain,
            rso * chance.uniform(0.2, 0.98, (cells, days)),
            tmax - spread - chance.uniform(0, 2, (cells, days)),
            wind,
        ]
    )


def block_of(values, start=START, quantities=QUANTITY_NAMES):
    """An answer with these values."""
    cells = tuple(Cell("made", 0, column, LAT, float(column)) for column in range(values.shape[1]))
    status = np.full((len(quantities), values.shape[2]), Status.FINAL, np.uint8)
    return Block("made", cells, start, tuple(quantities), values, status)


def marked(flags):
    """Every mark as (quantity, cell, day) -> flag."""
    return {
        (QUANTITY_NAMES[row], int(cell), int(day)): Flag(int(flags[row, cell, day]))
        for row, cell, day in np.argwhere(flags)
    }


def source_days(values, flags=None, name="own", start=START):
    """A source with these values, unmarked unless told."""
    none = np.zeros(values.shape, np.uint16)
    return SourceDays(name, values, none if flags is None else flags, none.astype(np.uint8), start)
