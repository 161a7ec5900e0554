"""Harm done to the files of a weather store, and whether it is whole again."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from random import Random

import numpy as np

from rootbound_service.weather.cells import Grid
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.quality.flags import Flag
from service.weather.grid_rig import AMES, END, NIGHT, NORTH, START, block

NOW = datetime(2026, 6, 7, 9, 30, tzinfo=UTC)
GRID = Grid("made_up", -90.0, AMES.lon - 138 * 0.625, 0.5, 0.625, 361, 576, wraps=True)
ASIDE = "made_up.spoiled-20260607T093000Z"
PAST = date(2024, 3, 1)
CELLS = (AMES, NORTH)
DAY_CHUNKS = {day: (day - date(1981, 1, 1)).days // 384 for day in (START, PAST)}
NEW, OLD = (f"0/0/{DAY_CHUNKS[day]}" for day in (START, PAST))


def flip(data, rng):
    at = rng.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << rng.randrange(7)]) + data[at + 1 :]


def head(data, rng):
    return bytes(b ^ 0x55 for b in data[:12]) + data[12:]


def cut(data, rng):
    return data[: rng.randrange(1, len(data))]


HARMS = {
    "a bit flipped": flip,
    "head": head,
    "cut short": cut,
    "emptied": lambda *_: b"",
    "gone": None,
}
TABLES = ("value", "flag", "status", "issued", "seen")
FACTS = ("lat", "lon", "elevation_m", "asked_from", "cell")
LINES = ("quantity", "units", "given", "day")


def harm(path, how, seed=0):
    data, change = path.read_bytes(), HARMS[how]
    if change is None:
        path.unlink()
    else:
        path.write_bytes(change(data, Random(seed)))


def opened(path):
    return GridStore(path, "made_up")


def write_again(path):
    """What tonight's pull and the past years bring."""
    high = {"elevation_m": np.array([300.0, 310.0])}
    now, past = block(cells=CELLS, **high), block(5.0, PAST, cells=CELLS, **high)
    marks = np.zeros(now.values.shape, np.uint16)
    marks[0, 0, 1] = Flag.LIMIT
    opened(path).write(now, marks, NIGHT + timedelta(days=1))
    opened(path).write(past, None, NIGHT + timedelta(days=1))


def same_as(path, whole):
    for first, last in ((START, END), (PAST, PAST + timedelta(days=4))):
        own, wanted = (opened(p).read(CELLS, first, last) for p in (path, whole))
        assert np.array_equal(own.values, wanted.values, equal_nan=True)
        assert np.array_equal(own.flags, wanted.flags)
        assert np.array_equal(own.status, wanted.status)
    assert opened(path).spans(CELLS) == opened(whole).spans(CELLS)
    assert opened(path).elevations(CELLS).tolist() == [300.0, 310.0]
    assert sorted(opened(path).cells()) == sorted(opened(whole).cells())
