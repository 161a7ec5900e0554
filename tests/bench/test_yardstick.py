"""The numpy step of the bench computes what the compiled members compute, so the race is fair."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from rootbound_rules.season.kernel import season_of_field
from rootbound_rules.season.layout import BLOCK, Out
from rootbound_rules.season.pack import out_of_blocks

DAYS, FIELDS = 120, 4


@pytest.fixture(autouse=True)
def _bench_on_the_path(monkeypatch):
    monkeypatch.setattr(sys, "path", [str(Path(__file__).parent), *sys.path])


def test_the_numpy_yardstick_gives_the_stress_of_the_compiled_members():
    from numpy_step import NumpySeason
    from scene import scene

    told = scene(FIELDS, 2, DAYS)
    sums = NumpySeason(told, FIELDS).run(DAYS)
    a = told.arrays
    for i in range(FIELDS):
        out = np.empty((1, DAYS * len(Out) * BLOCK), np.float32)
        season_of_field(
            a["fields"][i], a["params"][i], a["digs"][i], a["counts"][i],
            a["weather"][a["cells"][i]], a["irrigation"][0], 0, DAYS, bool(a["held"][i]), out,
        )  # fmt: skip
        cube = out_of_blocks(out, DAYS, BLOCK)

        assert sums["free"][i] == pytest.approx(cube[:, Out.FREE_STRESS].sum(axis=0), abs=0.02)
        assert sums["held"][i] == pytest.approx(cube[:, Out.HELD_STRESS].sum(axis=0), abs=0.02)
